package press

import "math"

const (
	// wild is a change between two readings, Pa, that is not believed at once.
	wild = 5e3
	// confirmations is how many readings must agree before a wild one is believed.
	confirmations = 2
)

// spike holds back readings that jump. A bag that opens goes on towards the
// room; a bad conversion comes back.
type spike struct {
	level     float64 // the newest believed value, Pa
	candidate float64
	votes     int
	primed    bool
}

// pass returns whether the reading is believed, and whether a jump that was
// held back has just turned out to be one that no bag makes.
func (s *spike) pass(v float64) (ok, jumped bool) {
	if !s.primed {
		s.level, s.primed = v, true
		return true, false
	}
	if math.Abs(v-s.level) <= wild {
		jumped = s.votes > 0
		s.level, s.votes = v, 0
		return true, jumped
	}
	if s.votes > 0 && s.follows(v) {
		s.votes++
	} else {
		s.votes = 1
	}
	s.candidate = v
	if s.votes <= confirmations {
		return false, false
	}
	s.level, s.votes = v, 0
	return true, false
}

// follows says whether v confirms the candidate: near it, or further the same way.
func (s *spike) follows(v float64) bool {
	way := s.candidate - s.level
	return math.Abs(v-s.candidate) < math.Abs(way)/2 || (v-s.candidate)*way > 0
}

// reset forgets the level, after a gap.
func (s *spike) reset() { *s = spike{} }
