package press

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/cure"
)

// WeatherLasts is how long what was told of the weather is good for.
const WeatherLasts = 24 * time.Hour

// WeatherOrder tells the lowest and the highest temperature that the coming 24 hours
// bring where the press stands, or takes it back.
type WeatherOrder struct {
	Press  string `json:"press"`
	LowC   Num    `json:"low_c"`  // °C; null or left out: not told
	HighC  Num    `json:"high_c"` // °C; null or left out: not told
	Forget bool   `json:"forget,omitempty"`
}

// Why weather is forgotten.
const (
	WeatherOver    = "over"    // its 24 hours have passed
	WeatherRevoked = "revoked" // somebody took it back
)

// Weather is what was told of a day. The zero value is nothing.
type Weather struct {
	LowC  Num       `json:"low_c"`  // °C
	HighC Num       `json:"high_c"` // °C
	Until time.Time `json:"until"`  // 24 hours after it was told
}

// Told reports whether there is anything.
func (w Weather) Told() bool { return !w.Until.IsZero() }

// same reports whether both say the same, unknown numbers included.
func (w Weather) same(v Weather) bool {
	alike := func(a, b Num) bool { return a == b || !a.Known() && !b.Known() }
	return w.Until.Equal(v.Until) && (!w.Told() || alike(w.LowC, v.LowC) && alike(w.HighC, v.HighC))
}

// Weather is what the order tells at a moment; nothing when it takes back. The error
// says what is wrong with it, and the remedy.
func (o WeatherOrder) Weather(at time.Time, d interface{ Temperature(c float64) string }) (Weather, error) {
	low, high := o.LowC, o.HighC
	switch {
	case o.Forget && (low.Known() || high.Known()):
		return Weather{}, Errorf(BadOrder, "either tell the weather or forget it, not both")
	case o.Forget:
		return Weather{}, nil
	case !low.Known() && !high.Known():
		return Weather{}, Errorf(BadOrder, "what is the weather to be? give the lowest of the coming 24 hours, the highest, or both")
	case low.Known() && high.Known() && low > high:
		return Weather{}, Errorf(BadOrder, "the lowest, %s, is warmer than the highest, %s; exchange them",
			d.Temperature(float64(low)), d.Temperature(float64(high)))
	}
	for _, c := range []Num{low, high} {
		if c.Known() && math.Abs(float64(c)-5) > 45 {
			return Weather{}, Errorf(BadOrder, "%s: no shop is so; give something between %s and %s",
				d.Temperature(float64(c)), d.Temperature(-40), d.Temperature(50))
		}
	}
	return Weather{LowC: low, HighC: high, Until: at.Add(WeatherLasts)}, nil
}

// Event is how w is written down, or that it is forgotten, and why.
func (w Weather) Event(why string) Event {
	if !w.Told() {
		return Event{Kind: WeatherForgotten, Reason: why}
	}
	return Event{Kind: WeatherTold, LowC: w.LowC, HighC: w.HighC, Until: w.Until}
}

// Weather says what the coming hours bring; the zero value says that it is forgotten,
// and why. What the run knows already is not said again.
func (r *Run) Weather(w Weather, why string) []Event {
	r.out = nil
	if !r.underWay() || w.same(r.weather) {
		return nil
	}
	r.weather = w
	r.emit(w.Event(why))
	r.tellShop()
	if r.margin.known {
		r.advanceMargin()
	}
	return r.out
}

// tellShop gives the shop's forecast what is known of the weather.
func (r *Run) tellShop() {
	r.hold.needsForecast = true
	if s := r.warm.shop; s != nil {
		s.Reconfigure(r.shopKnown())
	}
}

// shopKnown is what the config says of the shop, and in front of it what was told.
func (r *Run) shopKnown() cure.ShopConfig {
	w, told := &r.warm, r.weather
	cfg := r.cfg.Shop
	cfg.Midnight, cfg.NoClock = w.midnight, !r.cfg.Elapsed.IsZero()
	if told.Told() {
		cfg.Until = w.began + r.clock.t + told.Until.Sub(r.clock.now).Seconds()
		cfg.Since = cfg.Until - WeatherLasts.Seconds()
		cfg.NightLow, cfg.HasNightLow = float64(told.LowC), told.LowC.Known()
		cfg.DayHigh, cfg.HasDayHigh = float64(told.HighC), told.HighC.Known()
	}
	return cfg
}
