package press

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// What is lost when warmth comes too late.
const (
	HeatForFilm  = "film"  // the wet film is spoiled for good
	HeatForClamp = "clamp" // the bag will not hold until the glue is done
)

const (
	// shopWarm, °C, is what a bag is taken to be warmed to: an ordinary heated room.
	shopWarm = 20.0
	// warmAbove, K, is how far above the minimum that is at least.
	warmAbove = 5.0
	// coldAheadMost, s, is how far ahead the cold is looked for: a night.
	coldAheadMost = 18 * 3600.0
	coldStep      = 900.0
)

// warming is what the cold asks for.
type warming struct {
	by     float64 // s from forecastT, the latest moment at which warmth must come; +Inf: any will do
	spoils string  // what is lost otherwise
	lostAt float64 // s from forecastT, when the film is expected to be lost if nobody warms it; +Inf: it is not
}

// askForWarmth works out when warmth must come at the latest so that the film is not
// lost, and the bag holds until the warmed glue is done.
func (r *Run) askForWarmth(floorEarly float64) warming {
	w, c := warming{by: math.Inf(1), lostAt: math.Inf(1)}, &r.cure
	if !c.chosen() || c.done || !c.cold {
		return w
	}
	goal := max(shopWarm, c.sheet.MinUseC+warmAbove)
	delay := r.warmUp(goal)
	if spared := c.progress.SparedFor(); !math.IsInf(spared, 1) {
		w.by, w.spoils = max(0, spared-delay), HeatForFilm
		if c.progress.LikelyWet() {
			w.lostAt = lostAlong(r.warmthAhead(), c.sheet.MinUseC, spared)
		}
	}
	if clamp := floorEarly - delay - c.progress.IfWarmed(goal).High; clamp < w.by {
		w.by, w.spoils = max(0, clamp), HeatForClamp
	}
	return w
}

// lostAlong is how long, s, until a film that survives spared seconds below the
// minimum in all is expected to be lost along f; +Inf when not within a night.
func lostAlong(f cure.Forecast, limit, spared float64) float64 {
	const step = 60.0
	for ahead := 0.0; ahead <= coldAheadMost; ahead += step {
		if spared <= 0 {
			return ahead
		}
		if f(ahead).Expected < limit {
			spared -= step
		}
	}
	return math.Inf(1)
}

// warmUp is how long, s, the glue line takes to the minimum use temperature once
// the air around it is at goal.
func (r *Run) warmUp(goal float64) float64 {
	now, least := r.glueTemperature(), r.cure.sheet.MinUseC
	if math.IsNaN(now) || now >= least {
		return 0
	}
	return r.lag() * math.Log((goal-now)/(goal-least))
}

func (r *Run) lag() float64 {
	if r.cfg.Stack.Lag > 0 {
		return r.cfg.Stack.Lag
	}
	return cure.DefaultLag
}

// coldAhead is how long until the glue line is expected below the minimum, s;
// +Inf when it is not, or is there already. What was foreseen is foreseen until
// the forecast stays clear of the minimum by as much as ends a cold.
func (r *Run) coldAhead(f cure.Forecast) float64 {
	if !r.cure.chosen() || r.cure.cold || r.cure.done {
		return math.Inf(1)
	}
	limit := r.cure.sheet.MinUseC
	if !math.IsInf(r.margin.coldAt, 1) && r.margin.known {
		limit += warmBy
	}
	for ahead := 0.0; ahead <= coldAheadMost; ahead += coldStep {
		if f(ahead).Expected < limit {
			return ahead
		}
	}
	return math.Inf(1)
}

// tellWarming turns it into moments.
func (r *Run) tellWarming(s *Status) {
	if r.cure.done || !r.underWay() || s.Lost {
		return
	}
	w, from := r.margin.warming, r.margin.forecastT
	switch {
	case r.stage != Hold: // no bag yet that could fail: the film alone
		w, from = r.askForWarmth(math.Inf(1)), r.clock.t
	case !r.margin.known:
		return
	default:
		s.ColdAt = r.clock.wall(from + r.margin.coldAt)
	}
	if s.HeatBy = r.clock.wall(from + w.by); !s.HeatBy.IsZero() {
		s.HeatFor = w.spoils
	}
	s.FilmLostAt = r.clock.wall(from + w.lostAt)
}
