package cure

import (
	"math"
	"testing"
)

// resorcinol is the assembly table of a light-aircraft construction manual
// (2002): 70, 80, 90, 100 °F, minutes.
func resorcinol() *Sheet {
	l := func(f, m float64) Limit { return Limit{(f - 32) / 1.8, [2]float64{m, m}} }
	return &Sheet{
		MinUseC: 21, MaxUseC: 43, PressTime: []Point{{21, [2]float64{10, 10}}},
		OpenAssembly:   []Limit{l(70, 10), l(80, 5), l(90, 1), l(100, 0)},
		ClosedAssembly: []Limit{l(70, 60), l(80, 45), l(90, 30), l(100, 15)},
	}
}

// Source: the same manual: a third of the open time used leaves two thirds of
// the closed.
func TestWaitingIsProportional(t *testing.T) {
	w := NewWaiting(resorcinol())
	at := (70 - 32) / 1.8
	w.Add(0, at, Open)
	s := w.State()
	almost(t, "open limit, s", s.OpenS, 600, 1e-3)
	almost(t, "closed limit, s", s.ClosedS, 3600, 1e-3)
	almost(t, "left, s", s.LeftS, 600, 1e-3)
	w.Add(200, at, Closed)
	almost(t, "left of the closed, s", w.State().LeftS, 2400, 1e-3)
	w.Add(200+1600, at, Closed)
	if s := w.State(); !s.Short || s.Over {
		t.Errorf("800 s of 3600 left: %+v, want short", s)
	}
	w.Add(200+2401, at, Closed)
	if s := w.State(); !s.Over || s.Short || s.LeftS != 0 {
		t.Errorf("all used: %+v", s)
	}
}

func TestWaitingAtChangingAndMissingTemperatures(t *testing.T) {
	w := NewWaiting(resorcinol())
	w.Add(0, (80-32)/1.8, Closed)
	w.Add(45*60/2, (70-32)/1.8, Closed) // half used
	w.Add(45*60/2, math.NaN(), Closed)  // counts as the warmest so far
	almost(t, "left, s", w.State().LeftS, 45*60/2, 1e-3)

	w = NewWaiting(resorcinol())
	w.Add(0, math.NaN(), Closed)
	if left := w.State().LeftS; left >= 60*60 || left <= 45*60 {
		t.Errorf("never measured: %.0f s left, want that of 25 °C", left)
	}
	w.Add(100, (100-32)/1.8, Open) // no open time at all at 100 °F
	w.Add(110, 30, Open)
	if !w.State().Over {
		t.Errorf("open at 100 °F: %+v", w.State())
	}
}

func TestWaitingWithoutALimit(t *testing.T) {
	w := NewWaiting(&Sheet{PressTime: []Point{{20, [2]float64{1, 1}}}})
	w.Add(0, 20, Open)
	w.Add(1e6, 20, Open)
	if s := w.State(); s.Known || s.Over || s.Short || !math.IsInf(s.LeftS, 1) || !math.IsNaN(s.OpenS) {
		t.Errorf("%+v", s)
	}
}
