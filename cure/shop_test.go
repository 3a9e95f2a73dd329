package cure

import (
	"math"
	"testing"
)

// daily is a made-up shop: a daily cycle around a mean, coldest at t = 0.
func daily(mean, half float64) func(t float64) float64 {
	return func(t float64) float64 { return mean - half*math.Cos(2*math.Pi*t/86400) }
}

func lived(s *Shop, from, to float64, c func(float64) float64) {
	for t := from; t <= to; t += 300 {
		s.Add(t, c(t))
	}
}

func TestShopKnowsNothing(t *testing.T) {
	s := NewShop(ShopConfig{})
	if b := s.Forecast()(0); !math.IsNaN(b.Expected) {
		t.Errorf("before the first sample: %+v", b)
	}
	s.Add(0, math.NaN())
	s.Add(10, 12)
	b := s.Forecast()(12 * hour)
	if math.Abs(b.Expected-12) > 2 || b.High-b.Low < 6 || b.High-b.Low > 20 {
		t.Errorf("after one sample: %+v; want about 12 with wide bounds", b)
	}
}

// Without a record the time of day is all that is known: it gets warmer from the
// morning on, and colder from the evening on. A room at 21 °C is taken to stay so.
func TestShopKnowsTheTimeOfDay(t *testing.T) {
	ahead := func(c, hourOfDay, hours float64) float64 {
		s := NewShop(ShopConfig{})
		s.Add(hourOfDay*hour, c)
		return s.Forecast()(hours*hour).Expected - c
	}
	if up, down := ahead(8, 8, 9), ahead(8, 17, 13); up < 1.5 || down > -1.5 {
		t.Errorf("a shed at 8 °C: %+.1f K from the morning to the evening, %+.1f K over the night", up, down)
	}
	s := NewShop(ShopConfig{NoClock: true})
	s.Add(8*hour, 8)
	for _, hours := range []float64{6, 9, 12, 24} {
		almost(t, "without a clock", s.Forecast()(hours*hour).Expected, 8, 0.01)
	}
	if up, down := ahead(21, 8, 9), ahead(21, 17, 13); up > 1 || down < -1 {
		t.Errorf("a room at 21 °C: %+.1f K from the morning to the evening, %+.1f K over the night", up, down)
	}
}

func TestShopLearnsTheDailyCycle(t *testing.T) {
	c := daily(12, 5)
	s := NewShop(ShopConfig{})
	width := math.Inf(1)
	for _, days := range []float64{1.3, 3.3, 8.3} {
		lived(s, s.t, days*24*hour, c)
		f := s.Forecast()
		for ahead := 0.0; ahead < 48*hour; ahead += 1800 {
			b := f(ahead)
			if days > 3 {
				almost(t, "forecast", b.Expected, c(days*24*hour+ahead), 1)
			}
			if !(b.Low < b.Expected && b.Expected < b.High) {
				t.Fatalf("bounds %+v", b)
			}
		}
		w := f(24*hour).High - f(24*hour).Low
		if w >= width {
			t.Errorf("after %.0f days without a surprise the bounds are %.1f K wide, before %.1f K", days, w, width)
		}
		width = w
	}
	if width > 7 {
		t.Errorf("the bounds are still %.1f K wide after a week without a surprise", width)
	}
}

// A shop that is heated by day, with a schedule that nobody told of: the day's form
// is learnt, though it is no wave.
func TestShopLearnsAHeatedDay(t *testing.T) {
	c := 8.0
	s := NewShop(ShopConfig{})
	heated := func(at float64) float64 {
		set, day := 8.0, math.Mod(at, 24*hour)/hour
		if day >= 7 && day < 17 {
			set = 18
		}
		c += (set - c) * -math.Expm1(-300/(2*hour))
		return c
	}
	lived(s, 0, 10*24*hour, heated)
	f, off := s.Forecast(), 0.0
	for ahead := 300.0; ahead <= 24*hour; ahead += 300 {
		off += math.Abs(f(ahead).Expected-heated(10*24*hour+ahead)) / 288
	}
	if off > 1 {
		t.Errorf("off by %.2f K on average over the next day", off)
	}
}

func TestShopDepartureFadesIntoTheCycle(t *testing.T) {
	c := daily(12, 3)
	s := NewShop(ShopConfig{})
	lived(s, 0, 5*24*hour, c)
	now := 5*24*hour + 14*hour
	lived(s, 5*24*hour, now, func(t float64) float64 { return c(t) - math.Min(4, (t-5*24*hour)/(3*hour)) })
	f := s.Forecast()
	soon, late := f(hour).Expected-c(now+hour), f(96*hour).Expected-c(now+96*hour)
	if soon > -3 || soon < -5 || late < -3.5 {
		t.Errorf("4 K colder than the cycle now: %.1f K in an hour, %.1f K in four days", soon, late)
	}
}

// A departure that has been growing for hours is expected to grow a little more;
// one that has lasted is not.
func TestShopDepartureGoesOnAsItWent(t *testing.T) {
	c := daily(12, 3)
	growing, resting := NewShop(ShopConfig{}), NewShop(ShopConfig{})
	begin := 6 * 24 * hour
	for _, s := range []*Shop{growing, resting} {
		lived(s, 0, begin, c)
	}
	lived(growing, begin, begin+6*hour, func(t float64) float64 { return c(t) - 4*(t-begin)/(6*hour) })
	lived(resting, begin, begin+24*hour, func(t float64) float64 { return c(t) - 4 })
	after := func(s *Shop) float64 { return s.Forecast()(4*hour).Expected - c(s.t+4*hour) }
	if a, b := after(growing), after(resting); a > -4.4 || a < -7 || b < -4.3 || b > -2.5 {
		t.Errorf("four hours on: growing %.1f K, resting %.1f K", a, b)
	}
}

// A report and a record meet in between: the less the shop has surprised so far, the
// less the report moves it.
func TestShopNightLowAndDayHigh(t *testing.T) {
	extremes := func(cfg ShopConfig, weather float64) (low, high float64) {
		s := NewShop(cfg)
		lived(s, 0, 6*24*hour+14*hour, func(t float64) float64 {
			return daily(12, 4)(t) + weather*math.Sin(2*math.Pi*t/(2.7*86400))
		})
		low, high = math.Inf(1), math.Inf(-1)
		for a := 0.0; a <= 24*hour; a += 600 {
			c := s.Forecast()(a).Expected
			low, high = math.Min(low, c), math.Max(high, c)
		}
		return low, high
	}
	before := 0.0
	for _, weather := range []float64{0, 2, 5} {
		low, high := extremes(ShopConfig{}, weather)
		lowTold, _ := extremes(ShopConfig{NightLow: low - 5, HasNightLow: true}, weather)
		_, highTold := extremes(ShopConfig{DayHigh: high + 5, HasDayHigh: true}, weather)
		down, up := (low-lowTold)/5, (highTold-high)/5
		// A highest hour that is now says nothing of what is to come.
		if down < before || down > 1 || up < 0 || up > 1 || weather == 0 && up < 0.02 {
			t.Errorf("weather of %g K: moved by %.2f and %.2f of the way", weather, down, up)
		}
		before = down
	}
	if before < 0.3 {
		t.Errorf("where the weather turns, a report moves the night by %.2f of the way only", before)
	}
}

// A press that is carried from the cold into a warm room, or a heater that is lit, is
// no weather that goes on rising.
func TestShopLeaps(t *testing.T) {
	for _, before := range []float64{0.5, 3, 8 * 24} {
		s := NewShop(ShopConfig{})
		lived(s, 0, before*hour, daily(5, 1))
		lived(s, before*hour+60, before*hour+1800, func(float64) float64 { return 20 })
		for _, ahead := range []float64{1, 3, 6, 12, 24} {
			if b := s.Forecast()(ahead * hour); b.Expected < 14 || b.Expected > 24 {
				t.Errorf("after %g h at 5 °C and half an hour at 20 °C: %.1f °C in %g h", before, b.Expected, ahead)
			}
		}
	}
}

// A shop that keeps surprising has wider bounds than one that does not.
func TestShopBoundsComeFromItsErrors(t *testing.T) {
	calm, wild := NewShop(ShopConfig{}), NewShop(ShopConfig{})
	lived(calm, 0, 6*24*hour, daily(12, 4))
	lived(wild, 0, 6*24*hour, func(t float64) float64 {
		return daily(12, 4)(t) + 5*math.Sin(2*math.Pi*t/(2.7*86400))
	})
	a, b := calm.Forecast()(24*hour), wild.Forecast()(24*hour)
	if !(b.High-b.Low > 2*(a.High-a.Low)) {
		t.Errorf("calm %+v, wild %+v", a, b)
	}
}

func TestShopGap(t *testing.T) {
	c := daily(12, 4)
	s := NewShop(ShopConfig{})
	lived(s, 0, 3*24*hour, c)
	lived(s, 3*24*hour+7*hour, 4*24*hour, c)
	if b := s.Forecast()(12 * hour); math.Abs(b.Expected-c(4.5*24*hour)) > 1.5 {
		t.Errorf("after a gap of seven hours: %+v, want about %.1f", b, c(4.5*24*hour))
	}
	lived(s, 40*24*hour, 40*24*hour+hour, func(float64) float64 { return 3 })
	if b := s.Forecast()(6 * hour); math.Abs(b.Expected-3) > 0.1 {
		t.Errorf("after a month without a sample: %+v, want 3", b)
	}
}

// Without a record a report is most of what is known.
func TestShopNightLow(t *testing.T) {
	s := NewShop(ShopConfig{NightLow: 4, HasNightLow: true})
	for at := 18 * hour; at <= 20*hour; at += 300 { // an evening at 14 °C
		s.Add(at, 14)
	}
	f := s.Forecast()
	almost(t, "now", f(0).Expected, 14, 0.3)
	lowest := math.Inf(1)
	for a := 0.0; a <= 24*hour; a += 600 {
		lowest = math.Min(lowest, f(a).Expected)
	}
	almost(t, "the lowest of the night", lowest, 4, 2.5)
	if noon := f(19 * hour).Expected; noon < lowest+2 {
		t.Errorf("at three in the afternoon: %.1f °C", noon)
	}
	if b := f(10 * hour); b.Low > 4 {
		t.Errorf("at six in the morning the report is outside of the bounds: %+v", b)
	}
}

func TestShopHeating(t *testing.T) {
	s := NewShop(ShopConfig{Heating: []Setting{{At: 7 * hour, C: 18}, {At: 17 * hour, C: 8}}, HeatingLag: 1800})
	s.Add(16*hour, 18)
	f := s.Forecast()
	almost(t, "before it is turned down", f(0.9*hour).Expected, 18, 0.1)
	almost(t, "in the night", f(8*hour).Expected, 8, 0.1)
	almost(t, "the next noon", f(20*hour).Expected, 18, 0.1)
	almost(t, "a week later at night", f((8+7*24)*hour).Expected, 8, 0.1)
}

func TestShopAllocatesNothing(t *testing.T) {
	s := NewShop(ShopConfig{})
	at := 0.0
	if n := testing.AllocsPerRun(3000, func() { at += 60; s.Add(at, 15) }); n != 0 {
		t.Errorf("Add allocates %g times", n)
	}
}

func BenchmarkShopAdd(b *testing.B) {
	s := NewShop(ShopConfig{})
	at := 0.0
	for b.Loop() {
		at++
		s.Add(at, 15)
	}
}

func BenchmarkShopForecastAndRemaining(b *testing.B) {
	s := NewShop(ShopConfig{})
	lived(s, 0, 6*24*hour, daily(12, 4))
	p := NewProgress(oneRow(60, 24*30), Options{})
	p.Add(0, 15, true)
	for b.Loop() {
		p.Remaining(s.Forecast())
	}
}

// FuzzShop feeds anything: the forecast is a number with its bounds in order,
// and stays near what was seen.
func FuzzShop(f *testing.F) {
	f.Add([]byte{10, 20, 10, 21, 200, 5, 255, 255, 3, 9}, true)
	f.Add([]byte{60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20, 60, 20}, false)
	f.Fuzz(func(t *testing.T, in []byte, report bool) {
		s := NewShop(ShopConfig{HasNightLow: report, NightLow: 3})
		at, seen := 0.0, false
		for ; len(in) >= 2; in = in[2:] {
			at += float64(int(in[0])-2) * float64(in[0]) * 3
			c := float64(int8(in[1])) / 3
			if in[1] == 77 {
				c = math.NaN()
			}
			s.Add(at, c)
			seen = seen || !math.IsNaN(c)
		}
		forecast := s.Forecast()
		for ahead := -100.0; ahead < 20*24*hour; ahead += 7777 {
			b := forecast(ahead)
			if seen && !(b.Low < b.Expected && b.Expected < b.High && math.Abs(b.Expected) < 200) {
				t.Fatalf("%g s ahead: %+v", ahead, b)
			}
		}
	})
}
