package cure

import "math"

// cycle is what the record says of the day: the expected temperature by hour
// of the day (counted from t = 0), or one level when there is no day yet.
type cycle struct {
	daily bool
	level float64
	by    [24]float64
}

// learn makes the cycle of the last whole days, at most ShopDays.
func (s *Shop) learn() cycle {
	days := min(s.count/24, ShopDays)
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
	} else if s.cfg.HasNightLow || s.cfg.HasDayHigh {
		s.bend(path)
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
	d := s.departure(s.t)
	path := make([]float64, int(horizon/3600)+2)
	for i := range path {
		path[i] = d.at(float64(i) * 3600)
	}
	return path
}

// departure is the daily cycle and how far the present is from it.
type departure struct {
	cycle
	t     float64
	away  float64 // K
	trend float64 // K that it would still gain if it went on
}

// departure looks at the present as being at t.
func (s *Shop) departure(t float64) departure {
	d := departure{cycle: s.learn(), t: t}
	d.away = s.now - d.cycle.at(t)
	then := s.mean(s.hour - trendBack)
	if !d.daily || s.count < trendDays*24 || math.IsNaN(then) {
		return d
	}
	middle := (float64(s.hour-trendBack) + 0.5) * 3600
	d.trend = (d.away - (then - d.cycle.at(middle))) / (t - middle) * turning
	return d
}

// at is what is expected ahead seconds from now.
func (d *departure) at(ahead float64) float64 {
	away := d.away - d.trend*math.Expm1(-ahead/turning)
	return d.cycle.at(d.t+ahead) + away*math.Exp(-ahead/fading)
}

// Of a report and a record the two meet in between: on the first half of a year
// behind a shed's lag that was better than either (the report was taken to be
// right within 1.5 K).
const (
	trustLow  = 0.5  // in a low alone
	trustBoth = 0.65 // in a low and a high
)

// bend moves the path towards what the weather report says of the next 24 hours:
// by so much at the coldest and at the warmest hour, in between straight from the
// one to the other, up to the first of them from nothing, and dying away after a
// day. Without a day of record a day is drawn that keeps to the report: coldest at
// six in the morning, warmest at three in the afternoon.
func (s *Shop) bend(path []float64) {
	trust := trustLow
	if s.cfg.HasNightLow && s.cfg.HasDayHigh {
		trust = trustBoth
	}
	if s.count < 24 {
		trust = 1
		s.drawDay(path)
	}
	lowest, highest := 0, 0
	for i := 1; i <= 24; i++ {
		if path[i] < path[lowest] {
			lowest = i
		}
		if path[i] > path[highest] {
			highest = i
		}
	}
	var first, last turn
	if s.cfg.HasNightLow {
		first = turn{lowest, trust * (s.cfg.NightLow - path[lowest])}
		last = first
	}
	// A highest hour that is over now says nothing of what is to come.
	if high := (turn{highest, trust * (s.cfg.DayHigh - path[highest])}); s.cfg.HasDayHigh && highest > 2 {
		switch {
		case !s.cfg.HasNightLow:
			first, last = high, high
		case highest < lowest:
			first = high
		default:
			last = high
		}
	}
	for i := range path {
		path[i] += shift(i, first, last)
	}
}

// turn is an hour ahead and by how much, K, the path is to be moved there.
type turn struct {
	hour int
	by   float64
}

// shift is by how much to move the path at hour i.
func shift(i int, first, last turn) float64 {
	ramp := func(i int) float64 { return -math.Expm1(-float64(i) / 4) }
	switch {
	case i <= first.hour:
		return first.by * math.Min(1, ramp(i)/max(ramp(first.hour), ramp(4)))
	case i < last.hour:
		f := float64(i-first.hour) / float64(last.hour-first.hour)
		return first.by + f*(last.by-first.by)
	}
	least := max(ramp(last.hour), ramp(4))
	return last.by * math.Exp(-math.Max(0, float64(i)-24)/24) * math.Min(1, ramp(i)/least)
}

func (s *Shop) drawDay(path []float64) {
	low, high := s.low, math.Max(s.now, s.high)
	if s.cfg.HasNightLow {
		low = s.cfg.NightLow
	}
	if s.cfg.HasDayHigh {
		high = s.cfg.DayHigh
	}
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
