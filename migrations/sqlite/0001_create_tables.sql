-- Ids are text, moments are milliseconds since 1970 in UTC, yes/no is 1/0.
-- The tables are the same as PostgreSQL's, column by column.

-- Particulars of the database itself: epoch, server-device, server-key.
CREATE TABLE meta (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

-- Logs and their changes. A log's number saves writing its long id with each change.
CREATE TABLE logs (
    no            INTEGER NOT NULL PRIMARY KEY,
    id            TEXT    NOT NULL UNIQUE,
    shop          TEXT    NOT NULL,
    job           TEXT             UNIQUE,
    head          INTEGER NOT NULL,
    stamp_millis  INTEGER NOT NULL,
    stamp_counter INTEGER NOT NULL
) STRICT;
CREATE INDEX logs_by_shop ON logs (shop);

CREATE TABLE changes (
    log       INTEGER NOT NULL REFERENCES logs (no),
    seq       INTEGER NOT NULL,
    id        TEXT    NOT NULL UNIQUE,
    received  INTEGER NOT NULL,
    digest    TEXT    NOT NULL,
    signature TEXT    NOT NULL,
    text      TEXT    NOT NULL,
    PRIMARY KEY (log, seq)
) STRICT;

-- The last change of each device in each log.
CREATE TABLE chains (
    log    INTEGER NOT NULL REFERENCES logs (no),
    device TEXT    NOT NULL,
    seq    INTEGER NOT NULL,
    digest TEXT    NOT NULL,
    PRIMARY KEY (log, device)
) STRICT, WITHOUT ROWID;

CREATE TABLE refusals (
    digest TEXT    NOT NULL,
    device TEXT    NOT NULL,
    log    TEXT    NOT NULL,
    shop   TEXT    NOT NULL,
    change TEXT,
    author TEXT    NOT NULL,
    reason TEXT    NOT NULL,
    detail TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    PRIMARY KEY (digest, device, log)
) STRICT;
CREATE INDEX refusals_by_shop ON refusals (shop, at);

-- What the server itself needs to know of the logs' state: folds of single entities.
CREATE TABLE shops (
    id    TEXT NOT NULL PRIMARY KEY,
    name  TEXT NOT NULL,
    state TEXT NOT NULL
) STRICT;

CREATE TABLE members (
    shop    TEXT    NOT NULL,
    person  TEXT    NOT NULL,
    name    TEXT    NOT NULL,
    roles   TEXT    NOT NULL,
    retired INTEGER NOT NULL,
    state   TEXT    NOT NULL,
    PRIMARY KEY (shop, person)
) STRICT;
CREATE INDEX members_by_person ON members (person);

CREATE TABLE worksheets (
    log      INTEGER NOT NULL REFERENCES logs (no),
    id       TEXT    NOT NULL,
    state    TEXT    NOT NULL,
    answered TEXT    NOT NULL,
    waits    INTEGER NOT NULL,
    PRIMARY KEY (log, id)
) STRICT;
CREATE INDEX worksheets_waiting ON worksheets (log, id) WHERE waits = 1;

CREATE TABLE owners (
    log    INTEGER NOT NULL REFERENCES logs (no),
    entity TEXT    NOT NULL,
    author TEXT    NOT NULL,
    PRIMARY KEY (log, entity)
) STRICT, WITHOUT ROWID;

-- People, devices, sessions, invitations.
CREATE TABLE people (
    id       TEXT    NOT NULL PRIMARY KEY,
    login    TEXT    NOT NULL,
    folded   TEXT    NOT NULL UNIQUE,
    name     TEXT    NOT NULL,
    password TEXT    NOT NULL,
    disabled INTEGER NOT NULL,
    added    INTEGER NOT NULL
) STRICT;

CREATE TABLE devices (
    id         TEXT NOT NULL PRIMARY KEY,
    public_key TEXT NOT NULL,
    first_user TEXT NOT NULL REFERENCES people (id)
) STRICT;

CREATE TABLE device_users (
    device  TEXT    NOT NULL REFERENCES devices (id),
    person  TEXT    NOT NULL REFERENCES people (id),
    name    TEXT    NOT NULL,
    added   INTEGER NOT NULL,
    seen    INTEGER NOT NULL,
    revoked INTEGER NOT NULL,
    pending INTEGER NOT NULL,
    PRIMARY KEY (person, device)
) STRICT;

-- Only digests of tokens are kept. After a restore a session is adrift: phones are ahead of it.
CREATE TABLE sessions (
    family   TEXT    NOT NULL PRIMARY KEY,
    person   TEXT    NOT NULL REFERENCES people (id),
    device   TEXT    NOT NULL REFERENCES devices (id),
    token    TEXT    NOT NULL,
    previous TEXT,
    replaced INTEGER NOT NULL,
    expires  INTEGER NOT NULL,
    adrift   INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_by_person ON sessions (person);

CREATE TABLE invitations (
    id      TEXT    NOT NULL PRIMARY KEY,
    shop    TEXT    NOT NULL,
    roles   TEXT    NOT NULL,
    note    TEXT    NOT NULL,
    secret  TEXT    NOT NULL UNIQUE,
    inviter TEXT    NOT NULL,
    expires INTEGER NOT NULL,
    used_by TEXT
) STRICT;
CREATE INDEX invitations_by_shop ON invitations (shop);

-- Photos and their uploads. The bytes are in the photo store.
CREATE TABLE uploads (
    id         TEXT    NOT NULL PRIMARY KEY,
    person     TEXT    NOT NULL,
    log        TEXT    NOT NULL,
    digest     TEXT    NOT NULL,
    media_type TEXT    NOT NULL,
    length     INTEGER NOT NULL,
    expires    INTEGER NOT NULL,
    state      TEXT    NOT NULL,
    reason     TEXT    NOT NULL
) STRICT;
CREATE INDEX uploads_by_person ON uploads (person, state);
CREATE INDEX uploads_by_expiry ON uploads (expires);

CREATE TABLE photos (
    shop       TEXT    NOT NULL,
    digest     TEXT    NOT NULL,
    bytes      INTEGER NOT NULL,
    media_type TEXT    NOT NULL,
    width      INTEGER,
    height     INTEGER,
    stored     INTEGER NOT NULL,
    PRIMARY KEY (shop, digest)
) STRICT;

CREATE TABLE photo_refs (
    log    INTEGER NOT NULL REFERENCES logs (no),
    digest TEXT    NOT NULL,
    PRIMARY KEY (log, digest)
) STRICT, WITHOUT ROWID;
