-- Logs' folded states: what a device opens a long log with, in place of its history.
-- They can be made anew from the changes at any time, so dumps leave them out.
CREATE TABLE snapshots (
    log           BIGINT NOT NULL PRIMARY KEY REFERENCES logs (no),
    fold          TEXT   NOT NULL,
    seq           BIGINT NOT NULL,
    stamp_millis  BIGINT NOT NULL,
    stamp_counter BIGINT NOT NULL,
    state         TEXT   NOT NULL
);
