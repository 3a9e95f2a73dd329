package alert

import (
	"testing"

	"github.com/nightclamp/nightclamp/press"
)

// TestTheGaugeItselfWakes: no event says that the bag leaks, and yet the vacuum
// goes to the floor.
func TestTheGaugeItselfWakes(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.Unsure
	for sec := 0; sec < 4*3600 && s.st.VacuumPa > s.st.FloorPa; sec++ {
		s.st.VacuumPa = press.Num(84000 - 6000*float64(sec)/3600)
		s.at(sec).tick()
	}
	if len(s.all) == 0 || s.all[0].Name != FloorNear || s.all[0].Severity != press.Wake {
		t.Fatalf("told %v", s.log)
	}
	if left := s.st.Time.Sub(s.all[0].At); left < nearFloor-2*trendStep || left > nearFloor+2*trendStep {
		t.Errorf("woken %s before the floor", left)
	}
	s.hold(press.BelowFloor, "")
	s.st.Verdict = press.WillNotHold
	s.event(press.BelowFloor)
	s.log = s.log[len(s.log)-2:]
	s.want("floor_near wake cleared", "below_floor wake raised")
}

func TestTheGaugeKeepsStillWhereNobodyNeedWake(t *testing.T) {
	for name, change := range map[string]func(s *story, sec int){
		"slow": func(s *story, sec int) { s.st.VacuumPa = press.Num(84000 - 1000*float64(sec)/3600) },
		"done": func(s *story, sec int) {
			s.st.Verdict = press.Done
			s.st.VacuumPa = press.Num(84000 - 6000*float64(sec)/3600)
		},
		"settling": func(s *story, sec int) { s.st.VacuumPa = press.Num(80000 + 4000/(1+float64(sec)/300)) },
		"held up by a pump": func(s *story, sec int) { // 20 kPa/h, pumped up every ten minutes
			s.st.VacuumPa = press.Num(84000 - 20000*float64(sec%600)/3600)
		},
	} {
		s := newStory(t)
		for sec := range 2 * 3600 {
			change(s, sec)
			s.at(sec).tick()
		}
		if len(s.all) != 0 {
			t.Errorf("%s: told %v", name, s.log)
		}
	}
}
