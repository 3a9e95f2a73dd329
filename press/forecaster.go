package press

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// forecaster says how warm the glue line will be: as it has been of late, less
// and less surely. The shop of tomorrow night is a guess, and the bounds say so.
type forecaster struct {
	t      float64
	recent float64 // glue line, smoothed over an hour, °C
	known  bool
}

const (
	recently  = 3600.0     // s
	nearBound = 0.5        // K, for the next minutes
	farBound  = 3.0        // K, for half a day and more
	farAhead  = 12 * 3600. // s
)

func (f *forecaster) add(t, glueC float64) {
	if math.IsNaN(glueC) {
		return
	}
	if !f.known {
		f.t, f.recent, f.known = t, glueC, true
		return
	}
	f.recent += (glueC - f.recent) * share(t-f.t, recently)
	f.t = t
}

// from returns the forecast as seen from t. Without any reading it is the
// temperature for which datasheets are written, with wide bounds.
func (f *forecaster) from(float64) cure.Forecast {
	recent, extra := f.recent, 0.0
	if !f.known {
		recent, extra = 20, 5
	}
	return func(ahead float64) cure.Band {
		w := extra + nearBound + (farBound-nearBound)*math.Min(1, ahead/farAhead)
		return cure.Band{Low: recent - w, Expected: recent, High: recent + w}
	}
}
