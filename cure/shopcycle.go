package cure

import "math"

// cycle is what the record says of the day: the expected temperature by hour
// of the day (counted from t = 0), or one level when there is no day yet.
type cycle struct {
	daily bool
	level float64
	by    [24]float64
}

// learn makes the cycle of the last whole days, at most shopDays.
func (s *Shop) learn() cycle {
	days := min(s.count/24, shopDays)
	var c cycle
	var sum float64
	n := 0
	span := s.count
	if days > 0 {
		span = days * 24
	}
	var by [24]float64
	var of [24]int
	for h := s.hour - span; h < s.hour; h++ {
		m := s.mean(h)
		if math.IsNaN(m) {
			continue
		}
		sum += m
		n++
		by[mod(h, 24)] += m
		of[mod(h, 24)]++
	}
	if n == 0 {
		c.level = s.now
		return c
	}
	c.level, c.daily = sum/float64(n), days > 0
	for i := range by {
		if of[i] == 0 {
			c.daily = false // a hole in the day that no record fills
			break
		}
		c.by[i] = by[i] / float64(of[i])
	}
	return c
}

// at is the expected temperature at t without today's departure from it.
func (c *cycle) at(t float64) float64 {
	if !c.daily {
		return c.level
	}
	x := t/3600 - 0.5 // an hour's mean stands for its middle
	floor := math.Floor(x)
	i := mod(int(floor), 24)
	return c.by[i] + (x-floor)*(c.by[(i+1)%24]-c.by[i])
}

// Forecast is what the shop is expected to do from the last sample on. Before
// the first sample it is NaN.
func (s *Shop) Forecast() Forecast {
	if !s.started {
		return Steady(Exactly(math.NaN()))
	}
	path := s.path()
	if len(s.cfg.Heating) > 0 {
		s.heat(path)
	} else if s.cfg.HasNightLow {
		s.cool(path)
	}
	width := s.widths(len(path))
	return func(ahead float64) Band {
		x := math.Max(0, ahead/3600)
		i := int(x)
		if i >= len(path)-1 {
			i = len(path) - 2
			x = float64(len(path) - 1)
		}
		f := x - float64(i)
		c := path[i] + f*(path[i+1]-path[i])
		w := width[i] + f*(width[i+1]-width[i])
		return Band{c - w, c, c + w}
	}
}

// path is the expected temperature hour by hour from now, two weeks.
func (s *Shop) path() []float64 {
	c := s.learn()
	path := make([]float64, int(horizon/3600)+2)
	away := s.now - c.at(s.t)
	for i := range path {
		ahead := float64(i) * 3600
		path[i] = c.at(s.t+ahead) + away*math.Exp(-ahead/fading)
	}
	return path
}

// cool bends the path towards the night low that the user gave. With a day of
// record the two meet halfway, which on the first half of a year behind a shed's
// lag was better than either (the report was taken to be right within 1.5 K).
// Without one a day is drawn that reaches the low: coldest at six in the morning,
// as warm again at three in the afternoon as it was.
func (s *Shop) cool(path []float64) {
	trust := 0.5
	if s.count < 24 {
		trust = 1
		s.drawDay(path)
	}
	lowest := 0
	for i := 1; i <= 24; i++ {
		if path[i] < path[lowest] {
			lowest = i
		}
	}
	ramp := func(i int) float64 { return -math.Expm1(-float64(i) / 4) }
	least := max(ramp(lowest), ramp(4))
	shift := trust * (s.cfg.NightLow - path[lowest])
	for i := range path {
		later := math.Exp(-math.Max(0, float64(i)-24) / 24)
		path[i] += shift * later * math.Min(1, ramp(i)/least)
	}
}

func (s *Shop) drawDay(path []float64) {
	low, high := s.cfg.NightLow, math.Max(s.now, s.high)
	day := func(i int) float64 {
		h := s.sinceMidnight(s.t+float64(i)*3600) / 3600
		switch { // nine hours up, fifteen down
		case h >= 6 && h < 15:
			return low + (high-low)*(1-math.Cos(math.Pi*(h-6)/9))/2
		case h < 6:
			h += 24
		}
		return low + (high-low)*(1+math.Cos(math.Pi*(h-15)/15))/2
	}
	away := s.now - day(0)
	for i := range path {
		path[i] = day(i) + away*math.Exp(-float64(i)/3)
	}
}

// heat replaces the path by what the heater's schedule does to the glue line.
func (s *Shop) heat(path []float64) {
	const step = 900.0
	c := s.now
	path[0] = c
	decay := math.Exp(-step / s.cfg.HeatingLag)
	for i := 1; i < len(path); i++ {
		for k := range 4 {
			set := s.setting(s.t + float64(i-1)*3600 + float64(k)*step)
			c = set + (c-set)*decay
		}
		path[i] = c
	}
}

// setting is what the heater is set to at t.
func (s *Shop) setting(t float64) float64 {
	day := s.sinceMidnight(t)
	c := s.cfg.Heating[len(s.cfg.Heating)-1].C // since yesterday
	for _, set := range s.cfg.Heating {
		if set.At <= day {
			c = set.C
		}
	}
	return c
}

// sinceMidnight is the local time of day at t, s.
func (s *Shop) sinceMidnight(t float64) float64 {
	day := math.Mod(t-s.cfg.Midnight, 86400)
	if day < 0 {
		day += 86400
	}
	return day
}
