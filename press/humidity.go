package press

import (
	"fmt"
	"math"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/sensor"
)

// staleHumidity is how long, s, a reading of the room's humidity stands: it is no
// measure of the bag, so a hygrometer that falls silent is no event of the run.
const staleHumidity = 600

// humidity is the newest reading of the hygrometer.
type humidity struct{ pct, t float64 }

func (h *humidity) take(t float64, s sensor.Sample) {
	if v := s.RelativeHumidity(); v <= 100 { // NaN is not
		h.pct, h.t = v, t
	}
}

// at is the relative humidity at t, %; NaN when it is not known any more.
func (h *humidity) at(t float64) float64 {
	if h.pct == 0 || t-h.t > staleHumidity {
		return math.NaN()
	}
	return h.pct
}

// tellAir tells how damp the room is, and what wood makes of that.
func (r *Run) tellAir(s *Status) {
	s.HumidityPct, s.WoodPct = Num(r.humidity.at(r.clock.t)), Unknown()
	s.WoodWanted = [2]Num{Unknown(), Unknown()}
	if s.HumidityPct.Known() && s.AirC.Known() {
		s.WoodPct = Num(layup.EMC(float64(s.HumidityPct)/100, float64(s.AirC)))
	}
	if sheet := r.cfg.Sheet; sheet != nil && sheet.Moisture[1] > 0 {
		s.WoodWanted = [2]Num{Num(sheet.Moisture[0]), Num(sheet.Moisture[1])}
	}
}

// WoodWords says what wood makes of the room's air, and whether that suits the chosen
// glue: "16 % moisture, the glue wants 5 to 8 %: dry it, and measure it". It is empty
// where humidity or temperature of the air are not known, and while the wood is in the
// bag, where nothing can be done about it.
func (s Status) WoodWords() string {
	if !(s.WoodPct > 0) || s.Stage == Pulldown || s.Stage == Hold { // nor where it is NaN
		return ""
	}
	text := fmt.Sprintf("%.0f %% moisture", float64(s.WoodPct))
	low, high := s.WoodWanted[0], s.WoodWanted[1]
	if !(high > 0) {
		return text
	}
	text += fmt.Sprintf(", the glue wants %g to %g %%", float64(low), float64(high))
	switch {
	case s.WoodPct > high:
		return text + ": dry it, and measure it"
	case s.WoodPct < low:
		return text + ": let it take up some, and measure it"
	}
	return text
}
