-- A log's chain of links, and the sequence number that it has come to: logs of before catch up with their
-- next change.
ALTER TABLE logs ADD COLUMN link   TEXT;
ALTER TABLE logs ADD COLUMN linked INTEGER NOT NULL DEFAULT 0;

CREATE INDEX refusals_by_log ON refusals (log);

-- Public halves of the server's keys, as they were introduced. The private ones are files.
CREATE TABLE server_keys (
    key        TEXT    NOT NULL PRIMARY KEY,
    introduced INTEGER NOT NULL,
    state      TEXT    NOT NULL
) STRICT;

-- Roles on one job, folded like members.
CREATE TABLE job_members (
    shop    TEXT    NOT NULL,
    job     TEXT    NOT NULL,
    person  TEXT    NOT NULL,
    name    TEXT    NOT NULL,
    roles   TEXT    NOT NULL,
    until   INTEGER,
    retired INTEGER NOT NULL,
    state   TEXT    NOT NULL,
    PRIMARY KEY (job, person)
) STRICT;
CREATE INDEX job_members_by_person ON job_members (person);
CREATE INDEX job_members_by_shop ON job_members (shop);

-- An invitation to one job, and until when its roles are to hold.
ALTER TABLE invitations ADD COLUMN job   TEXT;
ALTER TABLE invitations ADD COLUMN until INTEGER;

-- Links that open one job's record to whoever holds them. Only digests of secrets are kept.
CREATE TABLE record_links (
    id      TEXT    NOT NULL PRIMARY KEY,
    shop    TEXT    NOT NULL,
    job     TEXT    NOT NULL,
    note    TEXT    NOT NULL,
    secret  TEXT    NOT NULL UNIQUE,
    maker   TEXT    NOT NULL,
    made    INTEGER NOT NULL,
    expires INTEGER NOT NULL,
    revoked INTEGER
) STRICT;
CREATE INDEX record_links_by_job ON record_links (job);
