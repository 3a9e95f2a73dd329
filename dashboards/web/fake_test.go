package web_test

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// begun is the first glue on the sled deck; night is the moment the tests look.
var (
	begun = time.Date(2026, time.October, 16, 19, 40, 0, 0, time.UTC)
	night = begun.Add(7*time.Hour + 20*time.Minute) // 03:00 UTC
)

// fake is a Source with an invented night in a boat shed.
type fake struct {
	mu       sync.Mutex
	statuses []press.Status
	watchers map[chan struct{}]bool
	asked    history // of the newest History call
}

type history struct {
	press    string
	from, to time.Time
	points   int
}

func newFake(statuses ...press.Status) *fake {
	return &fake{statuses: statuses, watchers: make(map[chan struct{}]bool)}
}

func (f *fake) Status() []press.Status {
	f.mu.Lock()
	defer f.mu.Unlock()
	return append([]press.Status(nil), f.statuses...)
}

func (f *fake) Subscribe(ctx context.Context) <-chan struct{} {
	ch := make(chan struct{}, 1)
	f.mu.Lock()
	f.watchers[ch] = true
	f.mu.Unlock()
	context.AfterFunc(ctx, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		if f.watchers[ch] {
			delete(f.watchers, ch)
			close(ch)
		}
	})
	return ch
}

// set puts a status in place of the one of its press and tells the watchers.
func (f *fake) set(st press.Status) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for i := range f.statuses {
		if f.statuses[i].Press == st.Press {
			f.statuses[i] = st
		}
	}
	for ch := range f.watchers {
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

// watching is how many subscribers there are.
func (f *fake) watching() int {
	f.mu.Lock()
	defer f.mu.Unlock()
	return len(f.watchers)
}

// History invents pull-down, settling, hold and a leak from 01:12.
func (f *fake) History(_ context.Context, name string, from, to time.Time, maxPoints int) (web.Series, error) {
	f.mu.Lock()
	f.asked = history{name, from, to, maxPoints}
	f.mu.Unlock()
	noise := rand.New(rand.NewPCG(1, 2))
	var s web.Series
	step := max(to.Sub(from)/time.Duration(maxPoints), time.Second)
	for t := from; !t.After(to) && len(s.Times) < maxPoints; t = t.Add(step) {
		s.Times = append(s.Times, t)
		v := vacuumAt(t)
		if name == "runners" {
			v += 3100 * max(0, t.Sub(leaking).Hours()) // it does not leak
		}
		add(&s.Vacuum, v, 60+40*noise.Float64())
		add(&s.Bag, 100300-v, 60)
		add(&s.Ambient, 100300, 20)
		add(&s.Glueline, glueAt(t), 0.1)
		add(&s.Air, glueAt(t)-3, 0.3)
		s.Clamped = append(s.Clamped, progressAt(t))
	}
	return s, nil
}

func add(c *web.Column, mean, spread float64) {
	c.Min = append(c.Min, press.Num(mean-spread))
	c.Mean = append(c.Mean, press.Num(mean))
	c.Max = append(c.Max, press.Num(mean+spread))
}

// pumped is when the pump begins to draw, leaking when the seam gives.
var (
	pumped  = begun.Add(25 * time.Minute)
	leaking = begun.Add(5*time.Hour + 32*time.Minute) // 01:12
)

func vacuumAt(t time.Time) float64 {
	d := t.Sub(pumped).Minutes()
	if d < 0 {
		return 0
	}
	v := 85200 * (1 - math.Exp(-d/3))
	v -= 1100 * (1 - math.Exp(-max(0, d-20)/40)) // settling
	return v - 3100*max(0, t.Sub(leaking).Hours())
}

func glueAt(t time.Time) float64 { return 12.5 - 0.35*t.Sub(begun).Hours() }

func progressAt(t time.Time) press.Num {
	return press.Num(min(1, max(0, t.Sub(pumped.Add(10*time.Minute)).Hours()/13.5)))
}

func deck() press.Status {
	now := press.Num(vacuumAt(night))
	p := progressAt(night)
	done := pumped.Add(10*time.Minute + 13*time.Hour + 30*time.Minute)
	floorAt := night.Add(time.Duration((float64(now) - 65000) / 3100 * float64(time.Hour)))
	return press.Status{
		Schema: 1, Time: night, Site: "boatshed", Press: "deck", Run: "20261016T194000Z-deck", Work: "Birch sled deck, 5 plies",
		Glue: "uf-two-part", Started: begun, Stage: press.Hold, StageAt: pumped.Add(10 * time.Minute),
		Sentence: "Leaking 3.1 kPa/h since 01:12. Below the floor at 07:20, two hours before the glue is done. Top up or re-seal before 07:20.",
		Verdict:  press.WillNotHold,
		VacuumPa: now, BagPa: 100300 - now, AmbientPa: 100300, FloorPa: 65000, GluelineC: press.Num(glueAt(night)), AirC: press.Num(glueAt(night) - 3), MinUseC: 5,
		Settled: true, Leaking: true, LeakOnset: leaking,
		LeakRate:        press.Band{Low: 2600, Expected: 3100, High: 3700},
		FloorAt:         press.Span{Early: night.Add(floorAt.Sub(night) * 84 / 100), Expected: floorAt, Late: night.Add(floorAt.Sub(night) * 119 / 100)},
		Progress:        press.Band{Low: p * 0.9, Expected: p, High: p * 1.08},
		ClampedProgress: press.Band{Low: p * 0.9, Expected: p, High: p * 1.08},
		PressTimeAt:     press.Span{Early: done.Add(-50 * time.Minute), Expected: done, Late: done.Add(95 * time.Minute)},
		MarginS: press.Band{
			Low:      press.Num(floorAt.Sub(done).Seconds() - 8000),
			Expected: press.Num(floorAt.Sub(done).Seconds()),
			High:     press.Num(floorAt.Sub(done).Seconds() + 6000),
		},
		HumidityPct: 78, WoodPct: 15.7, WoodWanted: [2]press.Num{5, 8},
		HoldChance: 0.04, TopUpBy: []time.Time{night.Add(3*time.Hour + 40*time.Minute)}, TopUpsEnough: true, UnclampedFrom: press.Unknown(),
		TopUps: 0, Samples: 264000,
		Conditions: []press.Condition{{Kind: press.LeakFound, Since: leaking}, {Kind: press.MarginGone, Since: leaking.Add(time.Hour)}},
		Sensors: []press.SensorStatus{
			{Name: "bag", Driver: "mpr", Reads: []string{"bag"}, Healthy: true, LastAt: night},
			{Name: "room", Driver: "bme280", Reads: []string{"ambient", "air"}, Healthy: true, LastAt: night, Errors: 3},
			{Name: "probe", Driver: "ds18b20", Reads: []string{"glueline"}, LastAt: night.Add(-9 * time.Minute), Errors: 41, Error: "no such device; check the wire and the 4.7 kΩ pull-up"},
		},
		Alerts: []press.AlertStatus{
			{ID: "deck-margin_gone-1", State: press.AlertRaised, Name: "margin_gone", Severity: "wake", Since: leaking.Add(time.Hour), Text: "The bag will be below its floor at 07:20, the glue needs until 09:50. Top up or re-seal before 07:20."},
			{ID: "deck-sensor_silent-1", State: press.AlertRaised, Name: "sensor_silent", Severity: "warn", Since: night.Add(-9 * time.Minute), Text: "The probe at the glue line has been silent since 02:51. The estimate uses the coldest plausible temperature."},
		},
	}
}

// runners is a second press, on which all is well.
func runners() press.Status {
	st := deck()
	st.Press, st.Run, st.Work, st.Verdict = "runners", "20261016T191000Z-runners", "Two sled runners, ash", press.WillHold
	st.Sentence = "Holding at 84 kPa. Glue reaches its press time at 09:50 (08:55 to 11:20). The bag stays above your 65 kPa floor past noon on Sunday. Sleep."
	st.VacuumPa, st.BagPa = 84100, 16200
	st.Leaking, st.LeakOnset, st.FloorAt = false, time.Time{}, press.Span{}
	st.LeakRate = press.Band{Low: 0, Expected: 60, High: 190}
	st.MarginS = press.Band{Low: 90000, Expected: press.Unknown(), High: press.Unknown()}
	st.Conditions, st.Alerts = nil, nil
	st.HoldChance, st.TopUpBy = 0.99, nil
	st.Sensors = st.Sensors[:2]
	return st
}

// bare is a press of which nothing is known yet.
func bare() press.Status {
	u := press.Unknown()
	none := press.Band{Low: u, Expected: u, High: u}
	return press.Status{
		Site: "boatshed", Press: "runners", Stage: press.Idle, Verdict: press.Unsure,
		VacuumPa: u, BagPa: u, AmbientPa: u, FloorPa: u, GluelineC: u, AirC: u, MinUseC: u,
		LeakRate: none, Progress: none, ClampedProgress: none, MarginS: none, HoldChance: u, UnclampedShare: u, UnclampedFrom: u,
	}
}
