-- What came out of the bag, measured on release, a day and a week later; which
-- of these questions were asked; which runs wait for the build log.

CREATE TABLE outcome (
	n     INTEGER PRIMARY KEY,
	run   INTEGER NOT NULL REFERENCES run (n),
	after TEXT NOT NULL,                      -- release, day or week
	body  TEXT NOT NULL,                      -- as in record.json
	UNIQUE (run, after)
) STRICT;

CREATE TABLE asked (
	n     INTEGER PRIMARY KEY,                -- order of asking
	run   INTEGER NOT NULL REFERENCES run (n),
	after TEXT NOT NULL,
	at    INTEGER NOT NULL,                   -- ns since 1970
	UNIQUE (run, after)
) STRICT;

CREATE TABLE due (
	n     INTEGER PRIMARY KEY REFERENCES run (n), -- the run
	tries INTEGER NOT NULL,
	error TEXT NOT NULL                       -- of the last try
) STRICT;
