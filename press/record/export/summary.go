package export

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// Summary is the run in numbers. A number that is not known is null in JSON, a
// time that is not known is left out.
type Summary struct {
	LayupAt     time.Time `json:"layup_at,omitzero"`
	PulldownAt  time.Time `json:"pulldown_at,omitzero"`
	HoldAt      time.Time `json:"hold_at,omitzero"`
	PressTimeAt time.Time `json:"press_time_at,omitzero"` // when the press time was earned under clamp
	EndAt       time.Time `json:"end_at,omitzero"`        // of the hold: released, or the last sample

	HoldS       press.Num `json:"hold_s"`        // length of the hold
	AboveFloorS press.Num `json:"above_floor_s"` // of it recorded with the mean vacuum at or above the floor
	BelowFloorS press.Num `json:"below_floor_s"` // of it recorded with the mean vacuum below the floor
	UnknownS    press.Num `json:"unknown_s"`     // of it without a reading

	LowestVacuumPa press.Num `json:"lowest_vacuum_pa"` // in the hold
	LowestVacuumAt time.Time `json:"lowest_vacuum_at,omitzero"`
	MeanVacuumPa   press.Num `json:"mean_vacuum_pa"` // over the hold

	ColdestC     press.Num `json:"coldest_glueline_c"` // in the hold
	ColdestAt    time.Time `json:"coldest_glueline_at,omitzero"`
	WarmestC     press.Num `json:"warmest_glueline_c"`
	MeanC        press.Num `json:"mean_glueline_c"`
	Progress     press.Num `json:"progress"`         // share of the press time earned, 0..1 and beyond
	Clamped      press.Num `json:"clamped_progress"` // the part of it at or above the floor
	TopUps       int       `json:"top_ups"`
	Leaks        int       `json:"leaks"`
	WorstLeakPaH press.Num `json:"worst_leak_pa_per_h"` // the highest rate a leak was found with
	Gaps         int       `json:"gaps"`
	GapS         press.Num `json:"gap_s"` // without any record, in all
	Samples      int       `json:"samples"`
}

func (t *told) summarise() Summary {
	s := Summary{
		LayupAt: t.when(press.LayupStarted), PulldownAt: t.when(press.PulldownStarted),
		HoldAt: t.when(press.HoldStarted), PressTimeAt: t.when(press.PressTimeReached),
		EndAt: t.when(press.Released), WorstLeakPaH: press.Unknown(),
		Progress: press.Unknown(), Clamped: press.Unknown(),
	}
	if s.EndAt.IsZero() {
		s.EndAt = t.end()
	}
	if t.final != nil {
		s.Progress, s.Clamped = t.final.Progress.Expected, t.final.ClampedProgress.Expected
	}
	for _, e := range t.events {
		s.count(e)
	}
	for _, row := range t.rows {
		s.Samples += row.Count
	}
	s.measure(t)
	return s
}

func (s *Summary) count(e press.Event) {
	switch e.Kind {
	case press.ToppedUp:
		s.TopUps++
	case press.LeakFound:
		s.Leaks++
		s.WorstLeakPaH = press.Num(math.Max(s.WorstLeakPaH.Or(0), float64(e.RatePaPerH)))
	case press.Gap:
		s.Gaps++
		s.GapS += press.Num(e.To.Sub(e.From).Seconds())
	}
}

// measure goes through the samples of the hold.
func (s *Summary) measure(t *told) {
	var vacuum, glue tally
	var above, below float64
	held := t.rows[:t.opening(s.EndAt)]
	for i, row := range held {
		if s.HoldAt.IsZero() || row.Mean.Before(s.HoldAt) || row.Mean.After(s.EndAt) {
			continue
		}
		stretch := row.Last.Sub(row.First).Seconds()
		if i+1 < len(t.rows) && !isGap(row, t.rows[i+1]) {
			stretch = t.rows[i+1].First.Sub(row.First).Seconds()
		}
		vacuum.add(row.Vacuum, row.Mean, stretch)
		glue.add(row.GlueLine, row.Mean, stretch)
		switch {
		case math.IsNaN(row.Vacuum.Mean) || math.IsNaN(t.run.FloorPa):
		case row.Vacuum.Mean >= t.run.FloorPa:
			above += stretch
		default:
			below += stretch
		}
	}
	s.LowestVacuumPa, s.LowestVacuumAt, s.MeanVacuumPa = vacuum.lowest(), vacuum.at, vacuum.mean()
	s.ColdestC, s.ColdestAt, s.MeanC, s.WarmestC = glue.lowest(), glue.at, glue.mean(), glue.highest()
	s.HoldS, s.AboveFloorS, s.BelowFloorS, s.UnknownS = press.Unknown(), press.Unknown(), press.Unknown(), press.Unknown()
	if !s.HoldAt.IsZero() {
		length := s.EndAt.Sub(s.HoldAt).Seconds()
		s.HoldS, s.AboveFloorS, s.BelowFloorS = press.Num(length), tenths(above), tenths(below)
		s.UnknownS = tenths(math.Max(0, length-above-below))
	}
}

// opening is the row with which the last fall of the vacuum begins, if the bag
// was opened: what the builder let in by hand is not held against the bag.
func (t *told) opening(end time.Time) int {
	const longest = 2 * time.Minute
	n := len(t.rows)
	if _, opened := t.first(press.Released); !opened {
		return n
	}
	for n > 1 && !t.rows[n-1].Mean.Before(end) {
		n--
	}
	for n > 1 && end.Sub(t.rows[n-1].First) < longest && t.rows[n-1].Vacuum.Min < t.rows[n-2].Vacuum.Mean-fallen {
		n--
	}
	return n
}

// fallen is how far below the mean of the bucket before the lowest reading of a
// bucket is while a bag is being opened, Pa: more than noise.
const fallen = 500

// tenths rounds seconds to what a sum of sample times is good for.
func tenths(s float64) press.Num { return press.Num(math.Round(s*10) / 10) }

// isGap reports whether something is missing between two neighbours: more than
// both of them together, and more than a minute.
func isGap(a, b record.Thin) bool {
	hole := b.First.Sub(a.Last)
	return hole > time.Minute && hole > b.Last.Sub(b.First)+a.Last.Sub(a.First)
}

// tally gathers a quantity over time.
type tally struct {
	min, max, sum, weight float64
	at                    time.Time
}

func (y *tally) add(e record.Extent, at time.Time, stretch float64) {
	if math.IsNaN(e.Mean) {
		return
	}
	if y.at.IsZero() || e.Min < y.min {
		y.min, y.at = e.Min, at
	}
	if y.weight == 0 || e.Max > y.max {
		y.max = e.Max
	}
	stretch = math.Max(stretch, 1e-3)
	y.sum += e.Mean * stretch
	y.weight += stretch
}

func (y *tally) lowest() press.Num  { return y.known(y.min) }
func (y *tally) highest() press.Num { return y.known(y.max) }

func (y *tally) mean() press.Num {
	return y.known(math.Round(y.sum/y.weight*1000) / 1000)
}

func (y *tally) known(v float64) press.Num {
	if y.weight == 0 {
		return press.Unknown()
	}
	return press.Num(v)
}
