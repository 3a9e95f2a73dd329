package cure

import "math"

// Shop learns from temperature samples how a shop warms and cools, and
// forecasts. Its zero value is not ready; use [NewShop].
//
// Without a day of record it expects the temperature to creep back to the mean
// of what it has seen. From one day on it expects the daily cycle of the last two
// weeks, and that today's departure from it dies away over two days; from five
// days on also that the departure goes on for some hours as it went lately,
// because a building follows weather that has turned already. Its bounds come
// from its own past errors: every hour it notes what it expects, and later how
// wrong that was.
//
// It forecasts a shop that is left alone. Weather fronts are not in the record
// of a thermometer: in an unheated shed the expected time is often wrong by
// more than a tenth, and the bounds say so. On the half of a year of outdoor
// temperatures that was held back, behind a shed's lag of 5 and of 10 hours and
// with two weeks of record, the expected end of a press of 24 h was within a tenth,
// six hours in, in 73 and 82 of 100 starts. The best linear predictor from the same
// thermometer, fitted to the other half, reached 72 and 84: more takes more than a
// thermometer knows. With a weather report of the coming low, wrong by 1.5 K, it
// was 79 and 89, with the low and the high 88 and 93; a room indoors 99. The
// bounds held in 87 to 97. TestForecastOnHeldBackRooms prints the table.
type Shop struct {
	cfg ShopConfig

	started bool
	t       float64 // of the last sample
	now     float64 // °C, smoothed over some minutes
	hour    int     // the hour being filled, counted from t = 0
	sum     float64
	n       int

	means [shopHours]float64 // hourly means, by hour modulo the length
	count int                // hours closed, gaps among them, at most shopHours
	low   float64            // coldest and warmest seen
	high  float64

	noted  [24][len(noteAfter)]float64 // what was expected, by the hour it was said in
	score  float64                     // sum of squared errors, fading
	weight float64
}

// ShopConfig is what a user may know beforehand. The zero value is a shop of
// which nothing is known; use NaN or [Unknown] for no night low.
type ShopConfig struct {
	// Midnight is a t at which a local day begins, s.
	Midnight float64
	// NightLow, when HasNightLow, is the lowest temperature expected in the next
	// 24 hours, °C: a weather report.
	NightLow    float64
	HasNightLow bool
	// DayHigh, when HasDayHigh, is the highest of the same 24 hours, °C.
	DayHigh    float64
	HasDayHigh bool
	// Heating is a heater's schedule, in order of the time of day; it repeats
	// daily. Empty: not heated, or not known.
	Heating []Setting
	// HeatingLag is the time constant with which the glue line follows the
	// heating, s; zero: two hours.
	HeatingLag float64
}

// Setting is a temperature that a heater is set to from a time of day on.
type Setting struct {
	At float64 // s after local midnight, 0..86400
	C  float64 // °C
}

// ShopDays is how many days of record make the daily cycle.
const ShopDays = 14

const (
	shopHours = ShopDays * 24
	// fading, s: how long today's departure from the daily cycle lasts. Found on
	// the first half of a year of hourly outdoor temperatures through a shed's
	// lag; 24 to 96 h do nearly as well.
	fading = 48 * 3600.0
	// turning, s: the departure goes on as it went in the last hours, dying away
	// over this long; trendBack hours are looked back, and trendDays days of cycle
	// are needed to tell a departure's course from the day's. Found on the same
	// first half, where 2 to 6 hours do nearly as well.
	turning   = 4 * 3600.0
	trendBack = 3
	trendDays = 5
	// smoothing, s, of the present temperature.
	smoothing = 300.0
)

// NewShop begins without a record.
func NewShop(cfg ShopConfig) *Shop {
	s := &Shop{cfg: cfg, low: math.Inf(1), high: math.Inf(-1)}
	if s.cfg.HeatingLag <= 0 {
		s.cfg.HeatingLag = 2 * 3600
	}
	for i := range s.noted {
		s.forget(i)
	}
	return s
}

func (s *Shop) forget(slot int) {
	for j := range s.noted[slot] {
		s.noted[slot][j] = math.NaN()
	}
}

// Reconfigure replaces what the user knows; the record is kept.
func (s *Shop) Reconfigure(cfg ShopConfig) {
	if cfg.HeatingLag <= 0 {
		cfg.HeatingLag = 2 * 3600
	}
	s.cfg = cfg
}

// Add takes a temperature that can be believed; NaN and a t that goes back are
// ignored. It allocates nothing; once an hour it takes some microseconds.
func (s *Shop) Add(t, c float64) {
	if math.IsNaN(c) || s.started && !(t >= s.t) {
		return
	}
	hour := s.hour
	if !s.started || t >= float64(s.hour+1)*3600 || t < float64(s.hour)*3600 {
		hour = int(math.Floor(t / 3600))
	}
	switch {
	case !s.started:
		s.started, s.now, s.hour = true, c, hour
	case t-s.t > 6*smoothing:
		s.now = c
	default:
		s.now += (c - s.now) * (t - s.t) / (t - s.t + smoothing)
	}
	if hour != s.hour {
		s.close(hour)
	}
	s.t = t
	s.sum += c
	s.n++
	s.low, s.high = min(s.low, c), max(s.high, c)
}

// close ends the hour being filled, judges what was expected of it, and begins
// the next; the hours between, if any, are gaps.
func (s *Shop) close(next int) {
	gap := next - s.hour
	if gap > shopHours {
		*s = *NewShop(s.cfg)
		s.started, s.hour, s.now = true, next, math.NaN()
		return
	}
	mean := s.sum / float64(s.n)
	for range gap {
		s.means[mod(s.hour, shopHours)] = mean
		s.count = min(s.count+1, shopHours)
		s.judge(s.hour)
		s.hour++
		s.note(s.hour)
		mean = math.NaN()
	}
	s.sum, s.n = 0, 0
}

func mod(a, n int) int { return (a%n + n) % n }

// mean is the mean of a closed hour; NaN when it is a gap or forgotten.
func (s *Shop) mean(hour int) float64 {
	if hour >= s.hour || hour < s.hour-s.count {
		return math.NaN()
	}
	return s.means[mod(hour, shopHours)]
}
