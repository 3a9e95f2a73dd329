package daemon

import (
	"context"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// leastOfHour is how much of an hour must have been seen for its mean to stand
// for it.
const leastOfHour = 20 * time.Minute

// hours makes hourly means of how warm it is where a press stands, with or
// without a run on it, and remembers as many as the forecast of the shop uses.
type hours struct {
	past        []press.HourMean // in order
	hour        time.Time        // being filled
	first, last time.Time
	air, glue   mean
}

type mean struct {
	sum float64
	n   int
}

func (m *mean) add(v float64) {
	if !math.IsNaN(v) {
		m.sum += v
		m.n++
	}
}

func (m *mean) value() float64 { return m.sum / float64(m.n) } // NaN for none

// add takes the temperatures at a moment, °C or NaN, and returns the hour that
// has ended with it, if one has.
func (h *hours) add(at time.Time, airC, glueC float64) (ended press.HourMean, ok bool) {
	if hour := at.Truncate(time.Hour); !hour.Equal(h.hour) {
		ended, ok = h.close()
		h.hour, h.first, h.air, h.glue = hour, at, mean{}, mean{}
	}
	h.last = at
	h.air.add(airC)
	h.glue.add(glueC)
	return ended, ok
}

func (h *hours) close() (press.HourMean, bool) {
	m := press.HourMean{Hour: h.hour, AirC: h.air.value(), GluelineC: h.glue.value()}
	if h.last.Sub(h.first) < leastOfHour || math.IsNaN(m.AirC) && math.IsNaN(m.GluelineC) {
		return m, false
	}
	h.remember(m)
	return m, true
}

// remember adds an hour. After a clock that was set back, what seemed to come
// later is forgotten.
func (h *hours) remember(m press.HourMean) {
	for len(h.past) > 0 && !h.past[len(h.past)-1].Hour.Before(m.Hour) {
		h.past = h.past[:len(h.past)-1]
	}
	h.past = append(h.past, m)
	for m.Hour.Sub(h.past[0].Hour) > press.ShopMemory {
		h.past = h.past[1:]
	}
}

// before are the hours that had ended by a moment.
func (h *hours) before(at time.Time) []press.HourMean {
	n := len(h.past)
	for n > 0 && h.past[n-1].Hour.Add(time.Hour).After(at) {
		n--
	}
	return append([]press.HourMean(nil), h.past[:n]...)
}

// keepHour lets the forecast of the shop learn, whether or not there is a run.
// What a heated bag shows is not the shop's.
func (s *Station) keepHour(ctx context.Context, at time.Time) {
	air, glue := s.run.Warmth()
	if s.run.Config().Stack.Heated && s.run.ID() != "" {
		glue = math.NaN()
	}
	ended, ok := s.hours.add(at, air, glue)
	if !ok {
		return
	}
	if err := s.shared.store.PutHour(ctx, s.cfg.Press, ended); err != nil {
		s.shared.log.Warn("temperature of the hour not kept: after a restart the forecast knows less",
			"press", s.cfg.Press, "error", err)
	}
}

// restoreHours takes up what the record has of the days before the newest hour.
func (s *Station) restoreHours(ctx context.Context) error {
	kept, err := s.shared.store.Hours(ctx, s.cfg.Press, dawn, dusk)
	if err != nil {
		return err
	}
	for _, h := range kept {
		s.hours.remember(h)
	}
	return nil
}
