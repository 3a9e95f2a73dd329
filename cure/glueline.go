package cure

import "math"

// Lag is a first-order lag: the temperature of something that follows the air
// with a time constant. Its zero value is not ready; use [NewLag].
type Lag struct {
	tau     float64
	started bool
	t, air  float64
	c       float64
	dt      float64 // of the last step, with its decay: samples mostly come evenly
	decay   float64
}

// NewLag begins at startC (°C), the temperature of the material, not of the
// air; NaN begins at the first air temperature. tau is in seconds.
func NewLag(tau, startC float64) *Lag { return &Lag{tau: math.Max(tau, 1), c: startC} }

// sameStep is the share by which two steps may differ and be the same: seconds
// that are added up differ in their last digits. A decay is off by less than a
// millionth of that.
const sameStep = 1e-6

// Add takes the air temperature at t and returns that of the lagging thing. In
// between the air is taken to run straight, and the answer is exact for that.
// For a NaN it returns NaN and waits; a t that goes back is ignored.
func (l *Lag) Add(t, airC float64) float64 {
	if math.IsNaN(airC) {
		return math.NaN()
	}
	switch {
	case !l.started:
		l.started = true
		if math.IsNaN(l.c) {
			l.c = airC
		}
	case t > l.t:
		dt := t - l.t
		if math.Abs(dt-l.dt) > sameStep*dt {
			l.dt, l.decay = dt, math.Exp(-dt/l.tau)
		}
		ramp := (airC - l.air) / dt * l.tau // how far behind a steady ramp is
		l.c = airC - ramp + (l.c-l.air+ramp)*l.decay
	default:
		return l.c
	}
	l.t, l.air = t, airC
	return l.c
}

// set moves the lagging thing to c, because it was measured.
func (l *Lag) set(c float64) { l.c = c }

// DefaultLag is the lag, s, of a stack of which nobody said anything: a thin bare
// deck on foam takes 0.6 h, one under a blanket two hours, one between halves of
// foam more than four.
const DefaultLag = 3600.0

// GlueLineConfig is what is known of the stack.
type GlueLineConfig struct {
	// Lag is the time constant with which the coldest glue line follows the air,
	// s; see the package layup. Zero is [DefaultLag].
	Lag float64
	// StartC is the temperature of the veneer, the glue and the mould when the
	// stack is laid up, °C, when HasStart. Otherwise it is taken from the first
	// reading, with wide bounds.
	StartC   float64
	HasStart bool
	// Heated: there is a blanket or a heated mould, so the glue line may be
	// warmer than any air it has seen.
	Heated bool
}

// From says where a glue-line temperature comes from.
type From string

// Where a glue-line temperature can come from.
const (
	FromNothing From = ""
	FromProbe   From = "probe"
	FromAir     From = "air" // through the lag of the stack
)

// GlueLine works out the temperature of the coldest glue line from a probe
// under the bag, from the air, or from both. Its zero value is not ready; use
// [NewGlueLine].
type GlueLine struct {
	cfg        GlueLineConfig
	probe, air guard
	estimate   *Lag // follows the probe while there is one, the air after it
	fast, slow *Lag // half and double the time constant, never set by the probe
	begin      float64
	started    bool
	oddSince   float64
	odd        bool
	measuredAt float64
	measured   bool
}

// GlueTemp is the temperature of the glue line at one moment.
type GlueTemp struct {
	C    Band // °C; NaN when nothing is known
	From From
	// Disagree: for a quarter of an hour the probe has been where the air cannot
	// have brought it. It lies loose, or measures something else.
	Disagree bool
}

const (
	probeError = 0.5 // K; the stated accuracy of common one-wire probes, from memory
	airError   = 1.5 // K; a shop is not everywhere as warm as at its thermometer
	// startUnknown, K: how much colder or warmer than the air the stack may have
	// been when nobody said.
	startUnknown = 5.0
	// beyond, K, what a glue line may be outside of all the air it can have seen:
	// both errors, reaction heat and evaporation.
	beyond   = 3.0
	oddAfter = 900.0 // s
)

// NewGlueLine begins at layup.
func NewGlueLine(cfg GlueLineConfig) *GlueLine {
	if cfg.Lag <= 0 {
		cfg.Lag = DefaultLag
	}
	start := math.NaN()
	if cfg.HasStart {
		start = cfg.StartC
	}
	return &GlueLine{
		cfg: cfg, estimate: NewLag(cfg.Lag, start), fast: NewLag(cfg.Lag/2, start), slow: NewLag(cfg.Lag*2, start),
	}
}

// Add takes what the probe and the air read at t, NaN for what is missing. What
// neither can be (a power-on value, an open probe, a leap) counts as missing.
func (g *GlueLine) Add(t, probeC, airC float64) GlueTemp {
	if !g.started {
		g.started, g.begin = true, t
	}
	probe := g.probe.accept(t, probeC)
	air := g.air.accept(t, airC)
	lagged := g.estimate.Add(t, air)
	fast, slow := g.fast.Add(t, air), g.slow.Add(t, air)
	if !math.IsNaN(probe) {
		g.estimate.set(probe)
		g.measured, g.measuredAt = true, t
		return GlueTemp{
			C: Band{probe - probeError, probe, probe + probeError}, From: FromProbe,
			Disagree: g.disagree(t, probe, fast, slow),
		}
	}
	if math.IsNaN(lagged) {
		return GlueTemp{C: Exactly(math.NaN())}
	}
	w := g.airWidth(t, lagged, air)
	return GlueTemp{C: Band{lagged - w, lagged, lagged + w}, From: FromAir}
}

// airWidth is how far the glue line may be from what the lag says: the error of
// the thermometer, a quarter of the distance still to go (the time constant is
// no better known), and what is left of not knowing the start.
func (g *GlueLine) airWidth(t, lagged, air float64) float64 {
	start, since := startUnknown, t-g.begin
	switch {
	case g.measured:
		start, since = probeError, t-g.measuredAt
	case g.cfg.HasStart:
		start = 1
	}
	return airError + 0.25*math.Abs(air-lagged) + start*math.Exp(-since/g.cfg.Lag)
}

// disagree reports whether the probe has been for a while where neither a fast
// nor a slow stack could have been brought by this air.
func (g *GlueLine) disagree(t, probe, fast, slow float64) bool {
	least, most := min(fast, slow), max(fast, slow)
	if probe >= least-beyond && probe <= most+beyond {
		g.odd = false // whatever else is not known
		return false
	}
	unknown := beyond
	if !g.cfg.HasStart {
		unknown += startUnknown * math.Exp(-(t-g.begin)/(2*g.cfg.Lag))
	}
	cold := probe < least-unknown
	warm := probe > most+unknown && !g.cfg.Heated
	if !cold && !warm { // NaN, no air, is neither
		g.odd = false
		return false
	}
	if !g.odd {
		g.odd, g.oddSince = true, t
	}
	return t-g.oddSince >= oddAfter
}
