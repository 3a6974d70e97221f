-- What a search finds: jobs, steps, hardware and material lines, and what is on the shelf, each as its log's
-- changes have it. They can be made anew from the changes at any time, so dumps leave them out.
CREATE TABLE found (
    no     INTEGER NOT NULL PRIMARY KEY,
    log    INTEGER NOT NULL REFERENCES logs (no),
    shop   TEXT    NOT NULL,
    job    TEXT,
    kind   TEXT    NOT NULL,
    id     TEXT    NOT NULL,
    step   TEXT,
    state  TEXT    NOT NULL,
    title  TEXT    NOT NULL,
    detail TEXT    NOT NULL,
    words  TEXT    NOT NULL,
    author TEXT    NOT NULL,
    made   INTEGER NOT NULL,
    UNIQUE (log, kind, id)
) STRICT;

-- The words are cut and folded before they come here: all that is left to do is to part them at spaces.
CREATE VIRTUAL TABLE found_words USING fts5 (
    words, content = 'found', content_rowid = 'no', tokenize = 'unicode61 remove_diacritics 0', prefix = '2 3 4'
);

CREATE TRIGGER found_added AFTER INSERT ON found BEGIN
    INSERT INTO found_words (rowid, words) VALUES (new.no, new.words);
END;
CREATE TRIGGER found_removed AFTER DELETE ON found BEGIN
    INSERT INTO found_words (found_words, rowid, words) VALUES ('delete', old.no, old.words);
END;
CREATE TRIGGER found_altered AFTER UPDATE OF words ON found WHEN old.words <> new.words BEGIN
    INSERT INTO found_words (found_words, rowid, words) VALUES ('delete', old.no, old.words);
    INSERT INTO found_words (rowid, words) VALUES (new.no, new.words);
END;
