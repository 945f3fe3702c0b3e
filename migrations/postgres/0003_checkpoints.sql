-- What followed from a site's log up to an event, so that a start need not read all of it. A short cut:
-- the log stays the truth, and a checkpoint may be removed or written anew at any time. Only programs of
-- the named format can read it.
CREATE TABLE checkpoint (
    site   BIGINT NOT NULL PRIMARY KEY REFERENCES site (site),
    event  BIGINT NOT NULL CHECK (event > 0),
    format TEXT   NOT NULL CHECK (format <> ''),
    json   TEXT   NOT NULL CHECK (json::json IS NOT NULL),
    at     BIGINT NOT NULL,
    FOREIGN KEY (site, event) REFERENCES event (site, event)
);
