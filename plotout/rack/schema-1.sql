CREATE TABLE content (
    hash TEXT PRIMARY KEY,
    size INTEGER NOT NULL,
    packed BLOB NOT NULL
) WITHOUT ROWID;

CREATE TABLE pattern (
    id INTEGER PRIMARY KEY,
    style TEXT NOT NULL,
    size TEXT NOT NULL,
    UNIQUE (style, size)
);

CREATE TABLE version (
    id INTEGER PRIMARY KEY,
    pattern INTEGER NOT NULL REFERENCES pattern,
    number INTEGER NOT NULL,
    name TEXT NOT NULL,
    date TEXT NOT NULL,
    put_at TEXT NOT NULL,
    maker TEXT NOT NULL,
    place TEXT NOT NULL,
    stock TEXT NOT NULL,
    machine TEXT NOT NULL,
    profile TEXT REFERENCES content,
    notes TEXT NOT NULL,
    set_file TEXT NOT NULL,
    picture TEXT REFERENCES content,
    details TEXT NOT NULL,
    changes TEXT NOT NULL,
    UNIQUE (pattern, number)
);

CREATE TABLE drawing (
    version INTEGER NOT NULL REFERENCES version,
    path TEXT NOT NULL,
    hash TEXT NOT NULL REFERENCES content,
    PRIMARY KEY (version, path)
) WITHOUT ROWID;

CREATE TABLE piece (
    version INTEGER NOT NULL REFERENCES version,
    name TEXT NOT NULL,
    PRIMARY KEY (version, name)
) WITHOUT ROWID;

CREATE TABLE loan (
    id INTEGER PRIMARY KEY,
    pattern INTEGER NOT NULL REFERENCES pattern,
    who TEXT NOT NULL,
    since TEXT NOT NULL,
    back TEXT
);

CREATE UNIQUE INDEX one_loan ON loan (pattern) WHERE back IS NULL;

CREATE TABLE cutting (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL REFERENCES version,
    at TEXT NOT NULL,
    machine TEXT NOT NULL,
    what TEXT NOT NULL
);

CREATE VIRTUAL TABLE words USING fts5 (
    style, name, size, pieces, place, notes, date, maker,
    tokenize = 'unicode61 remove_diacritics 2'
);
