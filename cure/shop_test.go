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
	if b.Expected != 12 || b.High-b.Low < 3 || b.High-b.Low > 20 {
		t.Errorf("after one sample: %+v; want 12 with wide bounds", b)
	}
}

func TestShopLearnsTheDailyCycle(t *testing.T) {
	c := daily(12, 5)
	s := NewShop(ShopConfig{})
	lived(s, 0, 3.3*24*hour, c)
	f := s.Forecast()
	for ahead := 0.0; ahead < 48*hour; ahead += 1800 {
		b := f(ahead)
		// Hourly means, joined by straight lines, cut the tips of a cosine.
		almost(t, "forecast", b.Expected, c(3.3*24*hour+ahead), 0.25)
		if !(b.Low < b.Expected && b.Expected < b.High) {
			t.Fatalf("bounds %+v", b)
		}
	}
	if w := f(24 * hour); w.High-w.Low > 7 {
		t.Errorf("the bounds are still %.1f K wide after three days without a surprise", w.High-w.Low)
	}
}

func TestShopDepartureFadesIntoTheCycle(t *testing.T) {
	c := daily(12, 3)
	s := NewShop(ShopConfig{})
	lived(s, 0, 5*24*hour, c)
	lived(s, 5*24*hour, 5*24*hour+2*hour, func(t float64) float64 { return c(t) - 4 })
	f := s.Forecast()
	now := 5*24*hour + 2*hour
	soon, late := f(hour).Expected-c(now+hour), f(96*hour).Expected-c(now+96*hour)
	if soon > -3 || late < -2 {
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
	lived(resting, begin, begin+6*hour, func(t float64) float64 { return c(t) - 4 })
	at := begin + 6*hour + 4*hour
	a, b := growing.Forecast()(4*hour).Expected-c(at), resting.Forecast()(4*hour).Expected-c(at)
	if a > -4.5 || a < -6.5 || b < -4.2 || b > -3 {
		t.Errorf("four hours on: growing %.1f K, resting %.1f K", a, b)
	}
}

func TestShopNightLowAndDayHigh(t *testing.T) {
	s := NewShop(ShopConfig{NightLow: 4, HasNightLow: true, DayHigh: 20, HasDayHigh: true})
	lived(s, 0, 6*24*hour+18*hour, daily(12, 4))
	low, high := math.Inf(1), math.Inf(-1)
	for a := 0.0; a <= 24*hour; a += 600 {
		c := s.Forecast()(a).Expected
		low, high = math.Min(low, c), math.Max(high, c)
	}
	almost(t, "lowest, between report and record, °C", low, 8+0.65*(4-8), 0.4)
	almost(t, "highest, between report and record, °C", high, 16+0.65*(20-16), 0.4)
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
	if b := s.Forecast()(12 * hour); math.Abs(b.Expected-c(4.5*24*hour)) > 0.5 {
		t.Errorf("after a gap of seven hours: %+v, want about %.1f", b, c(4.5*24*hour))
	}
	lived(s, 40*24*hour, 40*24*hour+hour, func(float64) float64 { return 3 })
	if b := s.Forecast()(6 * hour); math.Abs(b.Expected-3) > 0.1 {
		t.Errorf("after a month without a sample: %+v, want 3", b)
	}
}

func TestShopNightLow(t *testing.T) {
	s := NewShop(ShopConfig{NightLow: 4, HasNightLow: true})
	for at := 18 * hour; at <= 20*hour; at += 300 { // an evening at 14 °C
		s.Add(at, 14)
	}
	f := s.Forecast()
	almost(t, "now", f(0).Expected, 14, 0.3)
	almost(t, "at six in the morning", f(10*hour).Expected, 4, 0.7)
	if noon := f(19 * hour).Expected; noon < 11 {
		t.Errorf("at three in the afternoon: %.1f °C", noon)
	}

	s = NewShop(ShopConfig{NightLow: 2, HasNightLow: true})
	lived(s, 0, 4*24*hour+18*hour, daily(12, 4))
	least := math.Inf(1)
	for a := 0.0; a <= 24*hour; a += 600 {
		least = math.Min(least, s.Forecast()(a).Expected)
	}
	almost(t, "lowest of the coming day, between report and record, °C", least, (2+8)/2, 0.3)
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
