package sensor

import "time"

// Health is how one part is doing.
type Health struct {
	Name    string     // as configured; unique on its press
	Driver  string     // the driver that reads it
	Reads   []Quantity // what it is configured to read
	Healthy bool       // the last reading succeeded and is not too old
	LastAt  time.Time  // of the last good reading; zero: none yet
	Errors  uint64     // readings and openings that failed since the start
	Err     error      // the last failure, while it lasts; nil when healthy
	Last    Sample     // the last good reading, as the driver gave it; blank before any
}
