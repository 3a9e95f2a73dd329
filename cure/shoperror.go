package cure

import "math"

// noteAfter are the hours after which an expectation is judged.
var noteAfter = [...]int{6, 12, 24} //nolint:gochecknoglobals // Go has no constant arrays.

const (
	// growth, h: the error of the mean temperature of the next h hours grows as
	// W·(1 - exp(-h/growth)); found on the first halves of a room's record and
	// of a shed's.
	growth = 15.0
	// leastError, K: what a probe and a door do in any room.
	leastError = 0.15
	// memory, h, of the errors, and how many hours one error lasts: hourly
	// errors of a day-long forecast are not independent.
	memory    = 120.0
	errorLast = 8.0
	// assumedCounts is how many judged errors the first assumption is worth.
	assumedCounts = 0.25
	// withLow and withBoth are how much smaller the errors are with a night low
	// given, and with a day high besides.
	withLow  = 0.8
	withBoth = 0.75
	// nineInTen standard errors held nine cases of ten on the first halves.
	nineInTen = 1.6
)

func grown(hours float64) float64 { return -math.Expm1(-hours / growth) }

// note writes down the mean that is expected over the next hours.
func (s *Shop) note(hour int) {
	slot := mod(hour, len(s.noted))
	s.forget(slot)
	if math.IsNaN(s.now) {
		return
	}
	d := s.departure(float64(hour) * 3600)
	sum, k := 0.0, 0
	for h := 1; h <= noteAfter[len(noteAfter)-1]; h++ {
		sum += d.at((float64(h) - 0.5) * 3600)
		if h == noteAfter[k] {
			s.noted[slot][k] = sum / float64(h)
			k++
		}
	}
}

// judge compares what was expected with the hour that has just ended.
func (s *Shop) judge(hour int) {
	fade := 1 - 1/memory
	if s.count == 24 { // what was expected without a daily cycle tells little from now on
		fade = 0.25
	}
	s.score *= fade
	s.weight *= fade
	sum, n := 0.0, 0.0
	last := hour
	for k, h := range noteAfter {
		for ; last > hour-h; last-- {
			sum += s.justClosed(last)
			n++
		}
		if s.count >= 24 && s.count < 24+h { // said before there was a day of record
			continue
		}
		said := s.noted[mod(hour+1-h, len(s.noted))][k]
		e := (sum/n - said) / grown(float64(h))
		if !math.IsNaN(e) {
			s.score += e * e / float64(len(noteAfter))
			s.weight += 1 / float64(len(noteAfter))
		}
	}
}

// justClosed is mean, for the hour that is being closed too.
func (s *Shop) justClosed(hour int) float64 {
	if hour < s.hour+1-s.count {
		return math.NaN()
	}
	return s.means[mod(hour, shopHours)]
}

// spread is W: the standard error, K, of the mean of many hours ahead. What is
// assumed before anything was judged grows with the range that was seen.
func (s *Shop) spread() float64 {
	assumed := math.Min(4, 1.8+0.8*math.Max(0, s.high-s.low))
	n := s.weight / errorLast
	return math.Sqrt((assumedCounts*assumed*assumed + s.score/errorLast) / (assumedCounts + n))
}

// widths is the half-width of the bounds hour by hour. The mean of the path up
// to any moment then is nineInTen standard errors of the mean away.
func (s *Shop) widths(n int) []float64 {
	spread := s.spread()
	switch {
	case s.count < 24:
	case s.cfg.HasNightLow && s.cfg.HasDayHigh:
		spread *= withBoth
	case s.cfg.HasNightLow:
		spread *= withLow
	}
	w := make([]float64, n)
	for i := range w {
		x := float64(i) / growth
		e := spread * (1 - math.Exp(-x) + x*math.Exp(-x)) // the derivative of i·grown(i)
		w[i] = nineInTen * math.Hypot(e, leastError)
	}
	return w
}
