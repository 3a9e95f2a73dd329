-- How warm it was where a press stands, hour by hour, with or without a run: what
-- the forecast of the shop learns from. Temperatures are in 0.001 °C.
CREATE TABLE hour (
	n        INTEGER PRIMARY KEY,
	press    TEXT NOT NULL,
	at       INTEGER NOT NULL, -- the full hour it begins with, seconds since 1970
	air      INTEGER,
	glueline INTEGER,
	UNIQUE (press, at)
) STRICT;
