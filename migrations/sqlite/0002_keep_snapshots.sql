-- Logs' folded states: what a device opens a long log with, in place of its history.
-- They can be made anew from the changes at any time, so dumps leave them out.
CREATE TABLE snapshots (
    log           INTEGER NOT NULL PRIMARY KEY REFERENCES logs (no),
    fold          TEXT    NOT NULL,
    seq           INTEGER NOT NULL,
    stamp_millis  INTEGER NOT NULL,
    stamp_counter INTEGER NOT NULL,
    state         TEXT    NOT NULL
) STRICT;
