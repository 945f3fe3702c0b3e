-- What the shop folder held, the plans made from it, and what happened: nothing here is ever
-- changed or taken away. Triggers at the end of this file see to that, so that a slip in a later
-- program cannot rewrite history.
--
-- STRICT: SQLite keeps to the declared types, as every other engine does.
-- Times are whole seconds since 1970-01-01T00:00:00Z, as everywhere in the program; the time zone
-- belongs to the shop and is applied where a time is shown.

-- The bytes of a file. A revision in which only the orders differ refers to the same bytes of
-- every other file as the revision before it.
CREATE TABLE file_content (
    content INTEGER PRIMARY KEY,
    bytes   BLOB NOT NULL
) STRICT;

-- One state of the whole folder. AUTOINCREMENT: a number is never given out twice, so "revision 12"
-- on a printed sheet means one thing for ever. The latest revision is the greatest number.
CREATE TABLE shop_revision (
    revision    INTEGER PRIMARY KEY AUTOINCREMENT,
    imported_at INTEGER NOT NULL
) STRICT;

-- The files of a revision. Names are relative to the folder.
CREATE TABLE shop_file (
    revision INTEGER NOT NULL REFERENCES shop_revision (revision),
    name     TEXT    NOT NULL CHECK (name <> ''),
    content  INTEGER NOT NULL REFERENCES file_content (content),
    PRIMARY KEY (revision, name)
) STRICT;

-- Plans, each with the revision it was made from. `json` is the plan as its readers get it;
-- `objective` is lifted out of it so that plans can be compared without reading them. A plan the
-- judge has not accepted must not be stored: `verified` can only ever be 1.
CREATE TABLE plan (
    plan       INTEGER PRIMARY KEY AUTOINCREMENT,
    revision   INTEGER NOT NULL REFERENCES shop_revision (revision),
    json       TEXT    NOT NULL CHECK (json_valid(json)),
    objective  INTEGER NOT NULL,
    verified   INTEGER NOT NULL CHECK (verified = 1),
    created_at INTEGER NOT NULL
) STRICT;

-- What happened, in order. Every change writes its event in its own transaction: there is no change
-- without an event and no event without its change.
CREATE TABLE event (
    event    INTEGER PRIMARY KEY AUTOINCREMENT,
    at       INTEGER NOT NULL,
    kind     TEXT    NOT NULL CHECK (kind IN ('shop-imported', 'plan-saved')),
    revision INTEGER NOT NULL REFERENCES shop_revision (revision),
    plan     INTEGER REFERENCES plan (plan),
    -- A plan is named exactly when one was saved.
    CHECK ((kind = 'plan-saved') = (plan IS NOT NULL))
) STRICT;

CREATE TRIGGER file_content_stays BEFORE UPDATE ON file_content
BEGIN SELECT RAISE(ABORT, 'file contents are never changed'); END;
CREATE TRIGGER file_content_is_kept BEFORE DELETE ON file_content
BEGIN SELECT RAISE(ABORT, 'file contents are never removed'); END;

CREATE TRIGGER shop_revision_stays BEFORE UPDATE ON shop_revision
BEGIN SELECT RAISE(ABORT, 'shop revisions are never changed'); END;
CREATE TRIGGER shop_revision_is_kept BEFORE DELETE ON shop_revision
BEGIN SELECT RAISE(ABORT, 'shop revisions are never removed'); END;

CREATE TRIGGER shop_file_stays BEFORE UPDATE ON shop_file
BEGIN SELECT RAISE(ABORT, 'files of a revision are never changed'); END;
CREATE TRIGGER shop_file_is_kept BEFORE DELETE ON shop_file
BEGIN SELECT RAISE(ABORT, 'files of a revision are never removed'); END;

CREATE TRIGGER plan_stays BEFORE UPDATE ON plan
BEGIN SELECT RAISE(ABORT, 'plans are never changed'); END;
CREATE TRIGGER plan_is_kept BEFORE DELETE ON plan
BEGIN SELECT RAISE(ABORT, 'plans are never removed'); END;

CREATE TRIGGER event_stays BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
CREATE TRIGGER event_is_kept BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'events are never removed'); END;
