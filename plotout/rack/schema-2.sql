ALTER TABLE cutting ADD COLUMN journal TEXT;
ALTER TABLE cutting ADD COLUMN file TEXT;
ALTER TABLE cutting ADD COLUMN hash TEXT REFERENCES content;
CREATE UNIQUE INDEX one_journal ON cutting (version, journal) WHERE journal IS NOT NULL;
