package reader

import (
	"math"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// held is the last reading of a barometer.
type held struct {
	pa float64
	at time.Time // zero: there was none
}

// sample merges what the parts know now.
func (g *Group) sample() sensor.Sample {
	m := merge{now: time.Now(), out: sensor.Blank(time.Time{})}
	for _, p := range g.parts {
		r, h := p.last()
		leads := p == g.lead
		if leads && r.number > g.given {
			g.given = r.number
			m.moment = r.moment
		} else if leads {
			r.Bag = sensor.Missing // given before
		}
		if p.Correct != nil {
			r.Sample = p.Correct(r.Sample, g.airC)
		}
		m.add(r, h.Reads, p.MaxAge)
	}
	if m.out.Knows(sensor.Air) {
		g.airC = m.out.Air
	}
	g.room(&m)
	m.remark()
	g.stamp(&m)
	return m.out
}

// merge is a sample in the making.
type merge struct {
	now    time.Time
	moment Moment
	out    sensor.Sample
	bag    sensor.Sample     // the sample that the bag was taken of
	want   []sensor.Quantity // what any part is configured to read
	told   bool              // the room's pressure comes from a source that was told it
	late   bool              // the bag is missing, but its part is not silent yet
}

// add takes from a reading what no part before it knew.
func (m *merge) add(r reading, reads []sensor.Quantity, maxAge time.Duration) {
	young := r.number > 0 && m.now.Sub(r.at) <= maxAge
	for _, q := range reads {
		m.want = append(m.want, q)
		// A room pressure that was assumed is no reading of a barometer.
		assumed := q == sensor.Ambient && r.Quality.Has(sensor.AmbientAssumed)
		switch {
		case !young || m.out.Knows(q) || assumed || (q == sensor.Bag && m.late):
		case r.Knows(q):
			m.out = q.With(m.out, q.Of(r.Sample))
			if q == sensor.Bag {
				m.bag = r.Sample
				m.out.Quality |= r.Quality & (sensor.Gauge | sensor.Saturated)
			}
		case q == sensor.Bag && !r.Quality.Has(sensor.BagSilent):
			m.late = true
		}
	}
}

// room finds the room's pressure and puts the bag of a gauge part into it.
func (g *Group) room(m *merge) {
	ambient := m.out.Ambient
	switch {
	case !math.IsNaN(ambient):
		g.ambient = held{ambient, m.now}
	case !g.ambient.at.IsZero() && m.now.Sub(g.ambient.at) <= HoldAmbient:
		ambient = g.ambient.pa
		m.out.Quality |= sensor.AmbientAssumed | sensor.AmbientSilent
	case g.ambient.at.IsZero() && m.wants(sensor.Ambient) && m.now.Sub(g.started) < wakeUp && !m.bag.Quality.Has(sensor.AmbientAssumed):
		// The barometer is only just starting: better no sample than a jump.
	default:
		ambient = g.assumed(m)
		m.out.Quality |= sensor.AmbientAssumed
	}
	if v := m.bag.GaugeVacuum(); m.out.Knows(sensor.Bag) && !math.IsNaN(v) {
		m.out.Bag = ambient - v
	}
	m.out.Ambient = ambient
}

// assumed is the room's pressure where there is no barometer.
func (g *Group) assumed(m *merge) float64 {
	if m.bag.Quality.Has(sensor.AmbientAssumed) && m.bag.Knows(sensor.Ambient) {
		g.told = m.bag.Ambient
	}
	m.told = g.told > 0
	switch {
	case g.cfg.StationPa > 0:
		return g.cfg.StationPa
	case g.told > 0:
		return g.told
	}
	return sensor.StandardAtmosphere
}

func (m *merge) wants(q sensor.Quantity) bool { return slices.Contains(m.want, q) }

// remark says which parts should have answered and did not.
func (m *merge) remark() {
	for _, q := range m.want {
		silent := !m.out.Knows(q) && (q != sensor.Bag || !m.late)
		if q == sensor.Ambient {
			silent = m.out.Quality.Has(sensor.AmbientAssumed) && !m.told
		}
		if silent {
			m.out.Quality |= q.Silent()
		}
	}
}

// clockStep is how far the wall clock may run away from the monotonic one
// between two samples before it counts as set.
const clockStep = time.Second

// stamp gives the sample its moment and notices when the wall clock was set.
func (g *Group) stamp(m *merge) {
	// No reading of the lead is new, or it was taken while the sample before
	// was being made.
	if m.moment.Time.IsZero() || m.moment.behind(g.before) {
		m.moment = g.cfg.Clock()
	}
	m.out.Time, m.out.Mono, m.out.Boot = m.moment.Time, m.moment.Mono, m.moment.Boot
	if b := g.before; b.Boot != "" && b.Boot == m.moment.Boot {
		wall, mono := m.moment.Time.Sub(b.Time), m.moment.Mono-b.Mono
		if off := wall - mono; off > clockStep || off < -clockStep {
			m.out.Quality |= sensor.ClockSet
		}
	}
	g.before = m.moment
}
