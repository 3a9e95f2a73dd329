package cure

import "math"

// noteAfter are the hours after which an expectation is judged.
var noteAfter = [...]int{6, 12, 24} //nolint:gochecknoglobals // Go has no constant arrays.

const (
	// leastError, K: what a probe and a door do in any room.
	leastError = 0.15
	// memory, h, of the errors, and how many hours one error lasts: hourly
	// errors of a day-long forecast are not independent.
	memory    = 120.0
	errorLast = 8.0
	// assumedCounts is how many judged errors the habit of such places is worth.
	assumedCounts = 3.0
	// nineInTen standard errors held about nine cases of ten on the first halves,
	// and 85 in 100 at least whatever the record and the building.
	nineInTen = 1.9
)

// notion is a mean temperature that was expected, °C, and its variance, K².
type notion struct{ c, variance float64 }

// note writes down the means that are expected over the next hours.
func (s *Shop) note(hour int) {
	slot := ofDay(hour)
	s.forget(slot)
	if math.IsNaN(s.now) {
		return
	}
	var v view
	s.view(&v, float64(hour)*3600, 0.5, shopDay, 0)
	sum, k := 0.0, 0
	for h := 1; h <= shopDay; h++ {
		sum += v.expects[h-1]
		if h == noteAfter[k] {
			n := float64(h)
			s.noted[slot][k] = notion{sum / n, v.sums[h-1]/n/n + leastError*leastError}
			k++
		}
	}
}

// view is what is expected from t on, if it is now as warm as it was at last.
func (s *Shop) view(v *view, t, first float64, n, summed int) {
	now := s.places
	now.see(t, s.now, &s.cfg)
	v.look(&now, first, n, summed, s.cfg.Midnight)
}

// judge compares what was expected with the hour that has just ended.
func (s *Shop) judge(hour int) {
	s.score *= 1 - 1/memory
	s.weight *= 1 - 1/memory
	sum, last := 0.0, hour
	for k, h := range noteAfter {
		for ; last > hour-h; last-- {
			sum += s.means[ofDay(last)]
		}
		said := s.noted[ofDay(hour+1-h)][k]
		e := sum/float64(h) - said.c
		if !math.IsNaN(e) {
			s.score += e * e / said.variance / float64(len(noteAfter))
			s.weight += 1 / float64(len(noteAfter))
		}
	}
}

// surprise is by how much the shop's variance is larger than that of such places.
func (s *Shop) surprise() float64 {
	return (assumedCounts + s.score/errorLast) / (assumedCounts + s.weight/errorLast)
}
