-- The first form of the record. Times of runs, events, alerts and deliveries
-- are nanoseconds since 1970 UTC, times of thinned samples milliseconds.
-- NULL is: not known.

PRAGMA application_id = 0x6e74636c;

CREATE TABLE run (
	n        INTEGER PRIMARY KEY,
	id       TEXT NOT NULL UNIQUE,
	site     TEXT NOT NULL,
	press    TEXT NOT NULL,
	work     TEXT NOT NULL,
	glue     TEXT NOT NULL,
	sheet    BLOB,             -- the datasheet's file as it was at the time
	floor_pa REAL,
	strained INTEGER NOT NULL, -- 0 or 1
	plies    INTEGER NOT NULL,
	area_m2  REAL,
	notes    TEXT NOT NULL,
	started  INTEGER,
	ended    INTEGER,          -- NULL while the run is open
	stage    TEXT NOT NULL,
	verdict  TEXT NOT NULL,
	final    BLOB              -- the last status, JSON
) STRICT;
CREATE INDEX run_started ON run (started);

CREATE TABLE event (
	n      INTEGER PRIMARY KEY,               -- order of happening
	run    INTEGER REFERENCES run (n),        -- NULL: a press without a run
	press  TEXT NOT NULL,
	kind   TEXT NOT NULL,
	time   INTEGER,
	digest BLOB NOT NULL UNIQUE,              -- of body: the same event is kept once
	body   TEXT NOT NULL                      -- the event as it goes over the wire, JSON
) STRICT;
CREATE INDEX event_run ON event (run);

CREATE TABLE alert (
	n         INTEGER PRIMARY KEY,
	id        TEXT NOT NULL UNIQUE,
	press     TEXT NOT NULL,
	run       TEXT NOT NULL,
	active    INTEGER NOT NULL,               -- 0 once it is cleared
	body      TEXT NOT NULL                   -- JSON
) STRICT;
CREATE INDEX alert_active ON alert (press) WHERE active = 1;

CREATE TABLE delivery (
	n        INTEGER PRIMARY KEY,             -- order of creation
	key      TEXT NOT NULL UNIQUE,
	alert    TEXT NOT NULL,
	way      TEXT NOT NULL,
	title    TEXT NOT NULL,
	text     TEXT NOT NULL,
	severity TEXT NOT NULL,
	created  INTEGER,
	due      INTEGER,
	attempts INTEGER NOT NULL,
	error    TEXT NOT NULL,
	state    TEXT NOT NULL CHECK (state IN ('pending', 'sent', 'given up'))
) STRICT;
CREATE INDEX delivery_pending ON delivery (n) WHERE state = 'pending';

CREATE TABLE boot (
	n  INTEGER PRIMARY KEY,
	id TEXT NOT NULL UNIQUE
) STRICT;

-- One row a bucket. Pressures are in 0.1 Pa, temperatures in 0.001 °C. A
-- quantity has its mean, and how far the lowest reading was below it and the
-- highest above it: small numbers, which take few bytes.
CREATE TABLE thin (
	run         INTEGER NOT NULL REFERENCES run (n),
	seq         INTEGER NOT NULL,
	at          INTEGER NOT NULL,             -- first sample, ms since 1970
	mean_ms     INTEGER NOT NULL,             -- mean time, ms after the first
	last_ms     INTEGER NOT NULL,             -- last sample, ms after the first
	n           INTEGER NOT NULL,             -- samples
	quality     INTEGER NOT NULL,             -- remarks of all samples, joined
	boot        INTEGER REFERENCES boot (n),
	mono_ms     INTEGER,                      -- monotonic clock at the last sample, ms
	bag         INTEGER,
	bag_lo      INTEGER,
	bag_hi      INTEGER,
	ambient     INTEGER,
	ambient_lo  INTEGER,
	ambient_hi  INTEGER,
	glueline    INTEGER,
	glueline_lo INTEGER,
	glueline_hi INTEGER,
	air         INTEGER,
	air_lo      INTEGER,
	air_hi      INTEGER,
	vacuum      INTEGER,
	vacuum_lo   INTEGER,
	vacuum_hi   INTEGER,
	PRIMARY KEY (run, seq)
) STRICT, WITHOUT ROWID;
