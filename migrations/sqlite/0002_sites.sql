-- Several shops in one database, each a site. Everything but the site itself carries the site's
-- number first in its key, so that nothing of one site is found from another.
--
-- The log of events becomes the truth about a shop: the payload is the writer's JSON text. Numbers
-- of events, revisions, plans, jobs and tokens run 1, 2, 3... in each site. The site's row hands
-- them out: whoever raises a counter holds that row until the change is committed, so there are no
-- gaps and no two changes of one site at the same time.

ALTER TABLE file_content RENAME TO file_content_0001;
ALTER TABLE shop_revision RENAME TO shop_revision_0001;
ALTER TABLE shop_file RENAME TO shop_file_0001;
ALTER TABLE plan RENAME TO plan_0001;
ALTER TABLE event RENAME TO event_0001;

-- `changes` is raised by every change others may be waiting to hear of.
CREATE TABLE site (
    site          INTEGER PRIMARY KEY CHECK (site > 0),
    name          TEXT    NOT NULL UNIQUE CHECK (name <> ''),
    created_at    INTEGER NOT NULL,
    last_content  INTEGER NOT NULL DEFAULT 0,
    last_revision INTEGER NOT NULL DEFAULT 0,
    last_event    INTEGER NOT NULL DEFAULT 0,
    last_plan     INTEGER NOT NULL DEFAULT 0,
    last_job      INTEGER NOT NULL DEFAULT 0,
    last_token    INTEGER NOT NULL DEFAULT 0,
    changes       INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE file_content (
    site    INTEGER NOT NULL REFERENCES site (site),
    content INTEGER NOT NULL CHECK (content > 0),
    bytes   BLOB    NOT NULL,
    PRIMARY KEY (site, content)
) STRICT;

CREATE TABLE shop_revision (
    site        INTEGER NOT NULL REFERENCES site (site),
    revision    INTEGER NOT NULL CHECK (revision > 0),
    imported_at INTEGER NOT NULL,
    PRIMARY KEY (site, revision)
) STRICT;

CREATE TABLE shop_file (
    site     INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    name     TEXT    NOT NULL CHECK (name <> ''),
    content  INTEGER NOT NULL,
    PRIMARY KEY (site, revision, name),
    FOREIGN KEY (site, revision) REFERENCES shop_revision (site, revision),
    FOREIGN KEY (site, content) REFERENCES file_content (site, content)
) STRICT;

CREATE TABLE event (
    site  INTEGER NOT NULL REFERENCES site (site),
    event INTEGER NOT NULL CHECK (event > 0),
    at    INTEGER NOT NULL,
    who   TEXT    NOT NULL,
    kind  TEXT    NOT NULL CHECK (kind <> ''),
    json  TEXT    NOT NULL CHECK (json_valid(json)),
    PRIMARY KEY (site, event)
) STRICT;

-- `made_from` is the last event the plan takes account of; 0 is before the first.
CREATE TABLE plan (
    site       INTEGER NOT NULL REFERENCES site (site),
    plan       INTEGER NOT NULL CHECK (plan > 0),
    made_from  INTEGER NOT NULL CHECK (made_from >= 0),
    revision   INTEGER NOT NULL,
    json       TEXT    NOT NULL CHECK (json_valid(json)),
    objective  INTEGER NOT NULL,
    verified   INTEGER NOT NULL CHECK (verified = 1),
    created_at INTEGER NOT NULL,
    PRIMARY KEY (site, plan),
    FOREIGN KEY (site, revision) REFERENCES shop_revision (site, revision)
) STRICT;

-- What a caller was answered, by the key it sent: a caller that never got the answer asks again
-- and is answered the same.
CREATE TABLE answer (
    site    INTEGER NOT NULL REFERENCES site (site),
    key     TEXT    NOT NULL CHECK (key <> ''),
    request BLOB    NOT NULL CHECK (length(request) = 32),
    status  INTEGER NOT NULL,
    body    TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    PRIMARY KEY (site, key)
) STRICT;
CREATE INDEX answer_by_time ON answer (site, at);

-- Plans wanted. A job is a worker's until `lease_until`; then another may take it over, which
-- raises `attempt`.
CREATE TABLE job (
    site        INTEGER NOT NULL REFERENCES site (site),
    job         INTEGER NOT NULL CHECK (job > 0),
    wanted      INTEGER NOT NULL CHECK (wanted >= 0),
    why         TEXT    NOT NULL,
    asked_at    INTEGER NOT NULL,
    state       TEXT    NOT NULL CHECK (state IN ('waiting', 'taken', 'planned', 'failed', 'dropped')),
    attempt     INTEGER NOT NULL DEFAULT 0 CHECK (attempt >= 0),
    worker      TEXT,
    lease_until INTEGER,
    finished_at INTEGER,
    plan        INTEGER,
    failure     TEXT,
    PRIMARY KEY (site, job),
    FOREIGN KEY (site, plan) REFERENCES plan (site, plan),
    CHECK ((state = 'waiting') = (worker IS NULL)),
    CHECK ((state = 'waiting') = (lease_until IS NULL)),
    CHECK ((state IN ('waiting', 'taken')) = (finished_at IS NULL)),
    CHECK ((state = 'planned') = (plan IS NOT NULL)),
    CHECK ((state = 'failed') = (failure IS NOT NULL))
) STRICT;
-- Those few among the many that have ended.
CREATE INDEX job_open ON job (asked_at, site, job) WHERE finished_at IS NULL;
CREATE UNIQUE INDEX job_waiting ON job (site) WHERE state = 'waiting';
CREATE UNIQUE INDEX job_taken ON job (site) WHERE state = 'taken';

-- Passwords, tokens and sessions are kept as hashes only.
CREATE TABLE account (
    site       INTEGER NOT NULL REFERENCES site (site),
    name       TEXT    NOT NULL CHECK (name <> ''),
    role       TEXT    NOT NULL CHECK (role <> ''),
    password   TEXT,
    disabled   INTEGER NOT NULL CHECK (disabled IN (0, 1)),
    created_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    PRIMARY KEY (site, name)
) STRICT;

CREATE TABLE token (
    site       INTEGER NOT NULL,
    token      INTEGER NOT NULL CHECK (token > 0),
    hash       BLOB    NOT NULL CHECK (length(hash) = 32),
    account    TEXT    NOT NULL,
    label      TEXT    NOT NULL,
    created_at INTEGER NOT NULL,
    expires    INTEGER,
    revoked_at INTEGER,
    PRIMARY KEY (site, token),
    UNIQUE (site, hash),
    FOREIGN KEY (site, account) REFERENCES account (site, name)
) STRICT;

CREATE TABLE session (
    site       INTEGER NOT NULL,
    hash       BLOB    NOT NULL CHECK (length(hash) = 32),
    account    TEXT    NOT NULL,
    csrf       BLOB    NOT NULL CHECK (length(csrf) = 32),
    created_at INTEGER NOT NULL,
    expires    INTEGER NOT NULL,
    PRIMARY KEY (site, hash),
    FOREIGN KEY (site, account) REFERENCES account (site, name)
) STRICT;
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
