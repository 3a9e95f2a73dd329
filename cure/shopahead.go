package cure

import "math"

// Forecast is what the shop is expected to do from the last sample on. Before
// the first sample it is NaN.
func (s *Shop) Forecast() Forecast {
	if !s.started {
		return Steady(Exactly(math.NaN()))
	}
	o := s.outlook()
	return func(ahead float64) Band {
		x := math.Max(0, math.Min(ahead, horizon)/3600)
		i := int(x)
		c := o.at(i)
		c += (x - float64(i)) * (o.at(i+1) - c)
		j := min(i, viewed-1)
		w := o.width[j] + math.Min(1, x-float64(j))*(o.width[j+1]-o.width[j])
		return Band{c - w, c, c + w}
	}
}

// outlook is the expected temperature hour by hour from now, worked out as far as
// somebody asks, and the half-width of its bounds, which stays as it is after the
// hours that are viewed.
type outlook struct {
	view
	midnight float64
	path     []float64
	width    [viewed + 1]float64
	moved    float64 // K: by how much a report moves the last hour that is viewed
}

func (s *Shop) outlook() *outlook {
	o := &outlook{midnight: s.cfg.Midnight}
	s.view(&o.view, s.t, 0, viewed+1, 1)
	k := knowledge{view: &o.view, surprise: s.surprise()}
	if len(s.cfg.Heating) > 0 {
		o.path = s.heat()
	} else {
		k.hear(s.report())
		o.path = append(make([]float64, 0, 2*viewed), o.expects[:]...)
		o.moved = k.move(o.path)
	}
	o.width = k.widths()
	return o
}

// at is what is expected at the i-th hour, °C.
func (o *outlook) at(i int) float64 {
	for n := len(o.path); n <= i; n++ {
		after := float64(n - viewed)
		o.path = append(o.path, o.further(after, o.midnight)+o.moved*math.Exp(-after/viewed))
	}
	return o.path[i]
}

// heat is what the heater's schedule does to the glue line, hour by hour.
func (s *Shop) heat() []float64 {
	const step = 900.0
	c := s.now
	path := make([]float64, int(horizon/3600)+2)
	path[0] = c
	decay := math.Exp(-step / s.cfg.HeatingLag)
	for i := 1; i < len(path); i++ {
		for k := range 4 {
			set := s.setting(s.t + float64(i-1)*3600 + float64(k)*step)
			c = set + (c-set)*decay
		}
		path[i] = c
	}
	return path
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
