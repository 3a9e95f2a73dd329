package cure

import (
	"math"
	"time"
)

// Phase is a part of the assembly time.
type Phase int

// The parts of the assembly time.
const (
	Open   Phase = iota // glue wet, faces apart
	Closed              // faces together, no pressure yet
)

func (p Phase) String() string {
	if p == Closed {
		return "closed"
	}
	return "open"
}

// Assembly is how long the glue may wait at a constant temperature in one
// phase; false when the sheet does not say. Of a range it is the lower end.
//
// Between two rows ln(time) runs straight in 1/T (straight in time where a row
// is zero). Colder than the coldest row gives no more time than that row;
// warmer than the warmest shortens by the upper activation energy.
func (s *Sheet) Assembly(phase Phase, atC float64) (time.Duration, bool) {
	rows := s.OpenAssembly
	if phase == Closed {
		rows = s.ClosedAssembly
	}
	if len(rows) == 0 || math.IsNaN(atC) {
		return 0, false
	}
	return seconds(60 * s.assemblyMinutes(rows, atC)), true
}

func (s *Sheet) assemblyMinutes(rows []Limit, atC float64) float64 {
	last := rows[len(rows)-1]
	switch {
	case atC <= rows[0].AtC:
		return rows[0].Minutes[0]
	case atC >= last.AtC:
		_, high := s.activation()
		return last.Minutes[0] / EquivalentRate(high, atC, last.AtC)
	}
	i := 1
	for rows[i].AtC < atC {
		i++
	}
	a, b := rows[i-1], rows[i]
	share := (inverse(atC) - inverse(a.AtC)) / (inverse(b.AtC) - inverse(a.AtC))
	if a.Minutes[0] <= 0 || b.Minutes[0] <= 0 {
		return a.Minutes[0] + share*(b.Minutes[0]-a.Minutes[0])
	}
	return a.Minutes[0] * math.Pow(b.Minutes[0]/a.Minutes[0], share)
}
