-- The same change as the second migration of the other engine, with the same meaning; see there for
-- why each table is as it is.

ALTER TABLE file_content RENAME TO file_content_0001;
ALTER TABLE shop_revision RENAME TO shop_revision_0001;
ALTER TABLE shop_file RENAME TO shop_file_0001;
ALTER TABLE plan RENAME TO plan_0001;
ALTER TABLE event RENAME TO event_0001;

-- `changes` is raised by every change others may be waiting to hear of.
CREATE TABLE site (
    site          BIGINT PRIMARY KEY CHECK (site > 0),
    name          TEXT   NOT NULL UNIQUE CHECK (name <> ''),
    created_at    BIGINT NOT NULL,
    last_content  BIGINT NOT NULL DEFAULT 0,
    last_revision BIGINT NOT NULL DEFAULT 0,
    last_event    BIGINT NOT NULL DEFAULT 0,
    last_plan     BIGINT NOT NULL DEFAULT 0,
    last_job      BIGINT NOT NULL DEFAULT 0,
    last_token    BIGINT NOT NULL DEFAULT 0,
    changes       BIGINT NOT NULL DEFAULT 0
);

CREATE TABLE file_content (
    site    BIGINT NOT NULL REFERENCES site (site),
    content BIGINT NOT NULL CHECK (content > 0),
    bytes   BYTEA  NOT NULL,
    PRIMARY KEY (site, content)
);

CREATE TABLE shop_revision (
    site        BIGINT NOT NULL REFERENCES site (site),
    revision    BIGINT NOT NULL CHECK (revision > 0),
    imported_at BIGINT NOT NULL,
    PRIMARY KEY (site, revision)
);

CREATE TABLE shop_file (
    site     BIGINT NOT NULL,
    revision BIGINT NOT NULL,
    name     TEXT   NOT NULL CHECK (name <> ''),
    content  BIGINT NOT NULL,
    PRIMARY KEY (site, revision, name),
    FOREIGN KEY (site, revision) REFERENCES shop_revision (site, revision),
    FOREIGN KEY (site, content) REFERENCES file_content (site, content)
);

CREATE TABLE event (
    site  BIGINT NOT NULL REFERENCES site (site),
    event BIGINT NOT NULL CHECK (event > 0),
    at    BIGINT NOT NULL,
    who   TEXT   NOT NULL,
    kind  TEXT   NOT NULL CHECK (kind <> ''),
    json  TEXT   NOT NULL CHECK (json::json IS NOT NULL),
    PRIMARY KEY (site, event)
);

-- `made_from` is the last event the plan takes account of; 0 is before the first.
CREATE TABLE plan (
    site       BIGINT  NOT NULL REFERENCES site (site),
    plan       BIGINT  NOT NULL CHECK (plan > 0),
    made_from  BIGINT  NOT NULL CHECK (made_from >= 0),
    revision   BIGINT  NOT NULL,
    json       TEXT    NOT NULL CHECK (json::json IS NOT NULL),
    objective  BIGINT  NOT NULL,
    verified   BOOLEAN NOT NULL CHECK (verified),
    created_at BIGINT  NOT NULL,
    PRIMARY KEY (site, plan),
    FOREIGN KEY (site, revision) REFERENCES shop_revision (site, revision)
);

-- What a caller was answered, by the key it sent: a caller that never got the answer asks again
-- and is answered the same.
CREATE TABLE answer (
    site    BIGINT NOT NULL REFERENCES site (site),
    key     TEXT   NOT NULL CHECK (key <> ''),
    request BYTEA  NOT NULL CHECK (length(request) = 32),
    status  BIGINT NOT NULL,
    body    TEXT   NOT NULL,
    at      BIGINT NOT NULL,
    PRIMARY KEY (site, key)
);
CREATE INDEX answer_by_time ON answer (site, at);

-- Plans wanted. A job is a worker's until `lease_until`; then another may take it over, which
-- raises `attempt`.
CREATE TABLE job (
    site        BIGINT NOT NULL REFERENCES site (site),
    job         BIGINT NOT NULL CHECK (job > 0),
    wanted      BIGINT NOT NULL CHECK (wanted >= 0),
    why         TEXT   NOT NULL,
    asked_at    BIGINT NOT NULL,
    state       TEXT   NOT NULL CHECK (state IN ('waiting', 'taken', 'planned', 'failed', 'dropped')),
    attempt     BIGINT NOT NULL DEFAULT 0 CHECK (attempt >= 0),
    worker      TEXT,
    lease_until BIGINT,
    finished_at BIGINT,
    plan        BIGINT,
    failure     TEXT,
    PRIMARY KEY (site, job),
    FOREIGN KEY (site, plan) REFERENCES plan (site, plan),
    CHECK ((state = 'waiting') = (worker IS NULL)),
    CHECK ((state = 'waiting') = (lease_until IS NULL)),
    CHECK ((state IN ('waiting', 'taken')) = (finished_at IS NULL)),
    CHECK ((state = 'planned') = (plan IS NOT NULL)),
    CHECK ((state = 'failed') = (failure IS NOT NULL))
);
-- Those few among the many that have ended.
CREATE INDEX job_open ON job (asked_at, site, job) WHERE finished_at IS NULL;
CREATE UNIQUE INDEX job_waiting ON job (site) WHERE state = 'waiting';
CREATE UNIQUE INDEX job_taken ON job (site) WHERE state = 'taken';

-- Passwords, tokens and sessions are kept as hashes only.
CREATE TABLE account (
    site       BIGINT  NOT NULL REFERENCES site (site),
    name       TEXT    NOT NULL CHECK (name <> ''),
    role       TEXT    NOT NULL CHECK (role <> ''),
    password   TEXT,
    disabled   BOOLEAN NOT NULL,
    created_at BIGINT  NOT NULL,
    changed_at BIGINT  NOT NULL,
    PRIMARY KEY (site, name)
);

CREATE TABLE token (
    site       BIGINT NOT NULL,
    token      BIGINT NOT NULL CHECK (token > 0),
    hash       BYTEA  NOT NULL CHECK (length(hash) = 32),
    account    TEXT   NOT NULL,
    label      TEXT   NOT NULL,
    created_at BIGINT NOT NULL,
    expires    BIGINT,
    revoked_at BIGINT,
    PRIMARY KEY (site, token),
    UNIQUE (site, hash),
    FOREIGN KEY (site, account) REFERENCES account (site, name)
);

CREATE TABLE session (
    site       BIGINT NOT NULL,
    hash       BYTEA  NOT NULL CHECK (length(hash) = 32),
    account    TEXT   NOT NULL,
    csrf       BYTEA  NOT NULL CHECK (length(csrf) = 32),
    created_at BIGINT NOT NULL,
    expires    BIGINT NOT NULL,
    PRIMARY KEY (site, hash),
    FOREIGN KEY (site, account) REFERENCES account (site, name)
);
CREATE INDEX session_by_account ON session (site, account);

-- What was there before becomes the site "shop".
INSERT INTO site (site, name, created_at, last_content, last_revision, last_event, last_plan)
SELECT 1, 'shop', min(imported_at),
       (SELECT coalesce(max(content), 0) FROM file_content_0001),
       max(revision),
       (SELECT count(*) FROM event_0001),
       (SELECT coalesce(max(plan), 0) FROM plan_0001)
FROM shop_revision_0001
HAVING count(*) > 0;

INSERT INTO file_content SELECT 1, content, bytes FROM file_content_0001;
INSERT INTO shop_revision SELECT 1, revision, imported_at FROM shop_revision_0001;
INSERT INTO shop_file SELECT 1, revision, name, content FROM shop_file_0001;

INSERT INTO event (site, event, at, who, kind, json)
SELECT 1, row_number() OVER (ORDER BY event), at, 'daemon', kind,
       CASE kind
           WHEN 'plan-saved' THEN '{"revision":' || revision || ',"plan":' || plan || '}'
           ELSE '{"revision":' || revision || '}'
       END
FROM event_0001;

-- A plan was kept only while its revision was the latest: it was made from the event that brought
-- that revision.
INSERT INTO plan (site, plan, made_from, revision, json, objective, verified, created_at)
SELECT 1, plan_0001.plan, coalesce(imported.number, 0), plan_0001.revision, plan_0001.json,
       plan_0001.objective, plan_0001.verified, plan_0001.created_at
FROM plan_0001
LEFT JOIN (
    SELECT numbered.revision, max(numbered.number) AS number
    FROM (SELECT row_number() OVER (ORDER BY event) AS number, kind, revision
          FROM event_0001) AS numbered
    WHERE numbered.kind = 'shop-imported'
    GROUP BY numbered.revision
) AS imported ON imported.revision = plan_0001.revision;

DROP TABLE event_0001;
DROP TABLE plan_0001;
DROP TABLE shop_file_0001;
DROP TABLE shop_revision_0001;
DROP TABLE file_content_0001;

CREATE TRIGGER file_content_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON file_content
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('file contents');
CREATE TRIGGER shop_revision_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON shop_revision
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('shop revisions');
CREATE TRIGGER shop_file_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON shop_file
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('files of a revision');
CREATE TRIGGER plan_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON plan
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('plans');
CREATE TRIGGER event_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON event
FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('events');

-- Word of changes, for programs that listen. It is passed on when the change is committed.
CREATE FUNCTION tell_of_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('brakewright_news', '');
    RETURN NULL;
END
$$;
CREATE TRIGGER site_tells AFTER INSERT OR UPDATE OF changes ON site
FOR EACH STATEMENT EXECUTE FUNCTION tell_of_change();
