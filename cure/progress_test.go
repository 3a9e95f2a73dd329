package cure

import (
	"math"
	"testing"
)

const hour = 3600.0

// hold feeds a steady temperature every step seconds, from just after t0 to t1.
func hold(p *Progress, t0, t1, step, c float64, clamped bool) {
	for t := t0; t <= t1+1e-6; t += step {
		p.Add(t, c, clamped)
	}
}

func TestProgressOneAfterThePressTime(t *testing.T) {
	p := NewProgress(ufSheet(), Options{Strained: true})
	hold(p, 0, 3.5*hour, 60, 20, true) // 1.75 h, doubled
	s := p.State()
	almost(t, "earned", s.Earned.Expected, 1, 1e-5)
	almost(t, "clamped", s.Clamped.Low, 1, 1e-5)
	hold(p, 3.5*hour, 5*hour, 60, 20, true)
	if s := p.State(); s.Earned != Exactly(1) || s.Clamped != Exactly(1) {
		t.Errorf("after more than the press time: %+v", s)
	}
	if left := p.Remaining(nil); left != Exactly(0) {
		t.Errorf("remaining %+v, want 0", left)
	}
}

func TestProgressCarriesTheSheetsRange(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, 3*hour, 30, 10, true) // the sheet says 5 to 6 h
	s := p.State()
	almost(t, "low", s.Earned.Low, 0.5, 1e-5)
	almost(t, "high", s.Earned.High, 0.6, 1e-5)
	left := p.Remaining(nil)
	almost(t, "early, h", left.Low/hour, 2, 1e-3)
	almost(t, "late, h", left.High/hour, 3, 1e-3)
}

func TestProgressCountsClampOnlyWhileClamped(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, 0.5*hour, 60, 20, false)
	hold(p, 0.5*hour, 1.0*hour, 60, 20, true)
	hold(p, 1.0*hour, 1.25*hour, 60, 20, false)
	s := p.State()
	almost(t, "earned", s.Earned.Expected, 1.25/1.75, 1e-5)
	// One sample's interval at each change has only one end under clamp.
	almost(t, "clamped", s.Clamped.Expected, 0.5/1.75, 1.01*60/(1.75*hour))
	if s.Clamped.Expected > 0.5/1.75 {
		t.Errorf("clamped %g, more than the clamped half hour", s.Clamped.Expected)
	}
}

func TestProgressGateInsideAnInterval(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	p.AddBand(0, Exactly(14), true)
	p.AddBand(4*hour, Exactly(6), true) // crosses 10 °C halfway
	want := 2 * hour * (1/p.sheet.PressTimeAt(14, Options{}).Expected + 1/p.sheet.PressTimeAt(10, Options{}).Expected) / 2
	almost(t, "earned", p.State().Earned.Expected, want, 1e-6)
	almost(t, "cold for, s", p.State().ColdFor, 2*hour, 1e-6)
}

func TestProgressLostLatches(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, 0.5*hour, 60, 12, true)
	hold(p, 0.5*hour, 0.5*hour+500, 10, 9, true) // the grace is 600 s
	if s := p.State(); s.Lost || !s.TooCold {
		t.Fatalf("within the grace: %+v", s)
	}
	hold(p, 0.5*hour+510, 0.75*hour, 10, 9, true)
	s := p.State()
	if !s.Lost || math.Abs(s.LostAt-(0.5*hour+610)) > 60 {
		t.Fatalf("after the grace: %+v", s)
	}
	earned := s.Earned
	hold(p, 0.75*hour, 9*hour, 60, 25, true)
	s = p.State()
	if !s.Lost || s.TooCold || s.Earned != earned {
		t.Errorf("warm again: %+v, want lost and nothing more earned", s)
	}
	if left := p.Remaining(Steady(Exactly(25))); !math.IsInf(left.Low, 1) {
		t.Errorf("remaining %+v of a lost film", left)
	}
}

func TestProgressPausedGoesOn(t *testing.T) {
	sheet := ufSheet()
	sheet.BelowMin = Paused
	p := NewProgress(sheet, Options{})
	hold(p, 0, 12*hour, 60, 5, true)
	if s := p.State(); s.Lost || !s.TooCold || s.Earned.High != 0 {
		t.Fatalf("cold: %+v", s)
	}
	if left := p.Remaining(nil); !math.IsInf(left.Low, 1) {
		t.Errorf("remaining in the cold: %+v", left)
	}
	hold(p, 12*hour, 14*hour, 60, 20, true)
	if s := p.State(); s.TooCold || s.Earned.Expected != 1 {
		t.Errorf("warm: %+v", s)
	}
}

func TestProgressFilmThatHasFormedIsNotLost(t *testing.T) {
	p := NewProgress(ufSheet(), Options{Strained: true})
	hold(p, 0, 2*hour, 60, 20, true) // the plain press time is 1.75 h
	hold(p, 2*hour, 10*hour, 60, 5, true)
	if s := p.State(); s.Lost {
		t.Errorf("lost although the film had formed: %+v", s)
	}
}

func TestProgressTooColdDoesNotFlicker(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	turns, before := 0, false
	for i := range 1000 {
		p.Add(float64(i), 10+0.0625*float64(i%3-1), true)
		if s := p.State().TooCold; s != before {
			turns++
			before = s
		}
	}
	if turns > 1 {
		t.Errorf("too cold changed %d times on one coarse step of noise", turns)
	}
}

func TestProgressImpossibleReadings(t *testing.T) {
	for _, bad := range []float64{85, -127, 999.9, -40, math.Inf(1), 35} {
		p, q := NewProgress(ufSheet(), Options{}), NewProgress(ufSheet(), Options{})
		for i := range 400 {
			at, c := float64(i)*10, 15.0
			q.Add(at, c, true)
			if i%10 == 5 {
				c = bad
			}
			p.Add(at, c, true)
		}
		if got, want := p.State(), q.State(); got.Earned.High > want.Earned.High+1e-9 || math.Abs(got.Earned.Expected-want.Earned.Expected) > 1e-9 {
			t.Errorf("%g °C in between: earned %+v, want %+v", bad, got.Earned, want.Earned)
		}
	}
}

func TestProgressBelievesANewLevelThatHolds(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, hour, 10, 20, true)
	hold(p, hour, 2*hour, 10, 12, true) // the probe was moved
	if s := p.State(); s.Guessed {
		t.Errorf("a level held for an hour is still not believed: %+v", s)
	}
}

func TestProgressSilentProbe(t *testing.T) {
	p := NewProgress(ufSheet(), Options{Strained: true})
	p.Add(0, math.NaN(), true)
	p.Add(hour, math.NaN(), true)
	if s := p.State(); s.Earned.High != 0 || !s.Guessed {
		t.Fatalf("before the first reading: %+v", s)
	}
	hold(p, hour, 2*hour, 60, 15, true)
	for i := range 60 { // down to 12 °C, then up to 18 °C
		p.Add(2*hour+float64(i)*60, 15-float64(i)/20, true)
	}
	for i := range 60 {
		p.Add(3*hour+float64(i)*60, 12+float64(i)/10, true)
	}
	before := p.State().Earned
	hold(p, 4*hour, 4.5*hour, 60, math.NaN(), true)
	got := p.State().Earned
	at := func(c float64) Band { return p.sheet.PressTimeAt(c, Options{Strained: true}) }
	almost(t, "expected goes by the coldest", got.Expected-before.Expected, 0.5*hour/at(12.05).Expected, 0.006)
	if gain := got.Low - before.Low; gain > 0.5*hour/at(12.05).High {
		t.Errorf("low earned %g in the silence", gain)
	}
	if !p.State().Guessed {
		t.Error("the state does not say that it guesses")
	}
}

func TestProgressSkip(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, 0.5*hour, 60, 20, true)
	before := p.State()
	p.Skip(1.5*hour, 12)
	s := p.State()
	at12 := 1 * hour / p.sheet.PressTimeAt(12, Options{}).Expected
	almost(t, "earned by the coldest", s.Earned.Expected-before.Earned.Expected, at12, 1e-5)
	if s.Clamped != before.Clamped {
		t.Errorf("clamped grew over a gap: %+v after %+v", s.Clamped, before.Clamped)
	}
	if !(s.Earned.High-s.Earned.Low > before.Earned.High-before.Earned.Low) {
		t.Error("the bounds did not widen")
	}
	p.Add(1.5*hour, 20, true)
	p.Add(1.75*hour, 20, true)
	almost(t, "goes on after it", p.State().Clamped.Expected-before.Clamped.Expected, 0.25/1.75, 0.02)

	q := NewProgress(ufSheet(), Options{})
	hold(q, 0, 0.5*hour, 60, 20, true)
	q.Bridge(1.5*hour, 12, true)
	almost(t, "bridged", q.State().Clamped.Expected-before.Clamped.Expected, at12, 1e-5)
}

func TestProgressColdGapMayHaveSpoiledTheFilm(t *testing.T) {
	for _, c := range []struct {
		name    string
		coldest float64
		after   float64 // hours pressed at 20 °C before the gap; the plain press time is 1.75
		want    bool
	}{
		{"warm", 12, 0.5, false}, {"cold", 8, 0.5, true}, {"cold, but the film had formed", 8, 2, false},
	} {
		p := NewProgress(ufSheet(), Options{Strained: true})
		hold(p, 0, c.after*hour, 60, 20, true)
		p.Skip((c.after+1)*hour, c.coldest)
		if s := p.State(); s.MayBeLost != c.want || s.Lost {
			t.Errorf("%s: %+v", c.name, s)
		}
	}
}

func TestProgressTimeGoingBackIsIgnored(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	hold(p, 0, hour, 60, 20, true)
	before := p.State()
	p.Add(0, 20, true)
	p.Skip(10, 20)
	p.Add(hour, 20, true)
	if after := p.State(); after.Earned != before.Earned {
		t.Errorf("earned %+v after time went back, was %+v", after.Earned, before.Earned)
	}
}

func TestProgressWaitEarnsNothingButCold(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	for at := 0.0; at <= 1800; at += 60 {
		p.Wait(at, Exactly(20))
	}
	if s := p.State(); s.Earned.High != 0 {
		t.Fatalf("earned %+v before pressure", s.Earned)
	}
	for at := 1860.0; at <= 3600; at += 60 {
		p.Wait(at, Exactly(6))
	}
	if !p.State().Lost {
		t.Error("half an hour at 6 °C before pressure did not spoil the film")
	}
}

func TestProgressStopsShort(t *testing.T) {
	s := &Sheet{Family: Epoxy, MinUseC: 13, PressTime: []Point{{20, [2]float64{8, 12}}}, StopsShortC: 18, BelowMin: Paused}
	p := NewProgress(s, Options{})
	p.Add(0, 15, true)
	if !p.State().StopsShort {
		t.Error("15 °C does not stop short of full cure")
	}
	p.Add(hour, 21, true)
	if p.State().StopsShort {
		t.Error("21 °C stops short of full cure")
	}
}

func TestRemainingOverACold(t *testing.T) {
	sheet := ufSheet()
	sheet.BelowMin = Paused
	p := NewProgress(sheet, Options{})
	p.Add(0, 15, true)
	night := func(a float64) Band { // ten hours of cold, then 20 °C
		if a < 10*hour {
			return Exactly(8)
		}
		return Exactly(20)
	}
	almost(t, "h", p.Remaining(night).Expected/hour, 11.75, 0.1)
	if left := p.Remaining(Steady(Band{8, 8, 20})); !math.IsInf(left.Expected, 1) || !math.IsInf(left.High, 1) || left.Low > 1.8*hour {
		t.Errorf("remaining %+v", left)
	}
}

func TestAddAllocatesNothing(t *testing.T) {
	p := NewProgress(ufSheet(), Options{})
	at := 0.0
	if n := testing.AllocsPerRun(1000, func() { at++; p.Add(at, 15, true) }); n != 0 {
		t.Errorf("Add allocates %g times", n)
	}
	if n := testing.AllocsPerRun(10, func() { p.Remaining(nil) }); n > 1 { // the forecast itself
		t.Errorf("Remaining allocates %g times", n)
	}
}

func BenchmarkProgressAdd(b *testing.B) {
	p := NewProgress(ufSheet(), Options{Strained: true})
	c := make([]float64, 4096)
	for i := range c {
		c[i] = 15 + math.Sin(float64(i)/600) + 0.0625*float64(i%2)
	}
	at := 0.0
	for b.Loop() {
		at++
		p.Add(at, c[int(at)&4095], true)
	}
}

func BenchmarkProgressAddSilent(b *testing.B) {
	p := NewProgress(ufSheet(), Options{Strained: true})
	p.Add(0, 15, true)
	at := 0.0
	for b.Loop() {
		at++
		p.Add(at, math.NaN(), true)
	}
}

func BenchmarkRemaining(b *testing.B) {
	s := oneRow(60, 24*30)
	p := NewProgress(s, Options{})
	p.Add(0, 15, true)
	for b.Loop() {
		p.Remaining(nil)
	}
}

func BenchmarkNewProgress(b *testing.B) {
	s := ufSheet()
	for b.Loop() {
		NewProgress(s, Options{})
	}
}

// FuzzProgress feeds anything in any order: what was earned only grows, its
// bounds keep their order, what is clamped is part of it, and lost stays lost.
func FuzzProgress(f *testing.F) {
	f.Add([]byte{0, 60, 20, 1, 0, 60, 20, 1, 1, 200, 12, 0, 2, 10, 5, 1})
	f.Add([]byte{0, 255, 9, 1, 0, 255, 8, 1, 0, 255, 200, 1, 3, 1, 1, 1})
	f.Fuzz(func(t *testing.T, ops []byte) {
		p := NewProgress(ufSheet(), Options{Strained: true})
		at, before := 0.0, p.State()
		for ; len(ops) >= 4; ops = ops[4:] {
			at += float64(int(ops[1])-8) * 11 // now and then it goes back
			c, clamped := float64(int8(ops[2])), ops[3]&1 == 1
			switch ops[0] % 6 {
			case 0, 1:
				p.Add(at, c, clamped)
			case 2:
				p.Add(at, math.NaN(), clamped)
			case 3:
				p.Bridge(at, c, clamped)
			case 4:
				p.AddBand(at, Band{c - 2, c, c + 1}, clamped)
			case 5:
				p.Wait(at, Exactly(c))
			}
			s := p.State()
			for _, b := range []Band{s.Earned, s.Clamped} {
				if !(b.Low >= 0 && b.Low <= b.Expected && b.Expected <= b.High && b.High <= 1) {
					t.Fatalf("bounds %+v", b)
				}
			}
			if s.Earned.Low < before.Earned.Low || s.Earned.High < before.Earned.High || s.Clamped.Expected < before.Clamped.Expected {
				t.Fatalf("%+v after %+v", s, before)
			}
			if s.Clamped.Low > s.Earned.Low+1e-12 || s.Clamped.High > s.Earned.High+1e-12 || before.Lost && !s.Lost {
				t.Fatalf("%+v after %+v", s, before)
			}
			before = s
		}
		if left := p.Remaining(nil); !(left.Low <= left.Expected && left.Expected <= left.High) {
			t.Fatalf("remaining %+v", left)
		}
	})
}
