package export

import (
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Say writes what happened in an event as record.md does, in a few words.
func Say(e press.Event, d units.Display) string {
	if d.Location == nil {
		d.Location = time.UTC
	}
	return (&told{d: d}).event(e)
}
