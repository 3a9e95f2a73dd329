package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// hand is a Controller that writes down what it was asked.
type hand struct {
	asked []any
	err   error
	src   *fake // whose statuses change with the orders; may be nil
}

func (c *hand) note(o any) (press.Status, error) {
	c.asked = append(c.asked, o)
	return deck(), c.err
}

func (c *hand) Start(_ context.Context, o press.StartOrder) (press.Status, error) {
	st, err := c.note(o)
	if c.src != nil {
		st.Press, st.Stage, st.Work, st.Sentence = o.Press, press.Layup, o.Work, "Glue is being spread."
		c.src.set(st)
	}
	return st, err
}

func (c *hand) Release(_ context.Context, o press.MarkOrder) (press.Status, error) {
	st, err := c.note(o)
	if c.src != nil {
		st.Stage, st.Verdict, st.Sentence = press.Idle, press.OpenedEarly, "The bag was opened early."
		c.src.set(st)
	}
	return st, err
}
func (c *hand) TopUp(_ context.Context, o press.MarkOrder) (press.Status, error) { return c.note(o) }
func (c *hand) Note(_ context.Context, o press.MarkOrder) (press.Status, error)  { return c.note(o) }
func (c *hand) DropTest(_ context.Context, o press.DropTestOrder) (press.Status, error) {
	st, err := c.note(o)
	if c.src != nil {
		st.DropTest = dropTest(o, len(c.asked))
		c.src.set(st)
	}
	return st, err
}

// dropTest is a test after the nth order about it: ordered, its valve shut, ended.
func dropTest(o press.DropTestOrder, nth int) *press.DropTest {
	d := &press.DropTest{
		State: press.DropShut, Began: night, HoldS: o.HoldS, FloorPa: 65000, TookS: press.Unknown(), LeftS: press.Unknown(),
		Rate: press.Band{Low: press.Unknown(), Expected: press.Unknown(), High: press.Unknown()}, Allowed: press.Unknown(),
		Sentence: "Shut the valve and switch the pump off, then say so.",
	}
	if nth > 1 {
		d.State, d.TookS, d.LeftS, d.Allowed = press.DropMeasure, 400, 300, 850
		d.Rate = press.Band{Low: 150, Expected: 420, High: 900}
		d.Sentence = "Measuring. Hands off."
	}
	if o.Cancel {
		d.State, d.Outcome, d.Reason, d.Ended, d.Sentence = press.DropOver, press.DropBrokenOff, "cancelled", night, "The test was stopped."
	}
	return d
}
func (c *hand) Weather(_ context.Context, o press.WeatherOrder) (press.Status, error) {
	st, err := c.note(o)
	if c.src != nil {
		st.Weather = nil
		if !o.Forget {
			st.Weather = &press.Weather{LowC: o.LowC, HighC: o.HighC, Until: st.Time.Add(press.WeatherLasts)}
		}
		c.src.set(st)
	}
	return st, err
}
func (c *hand) SetGlue(_ context.Context, o press.GlueOrder) (press.Status, error) { return c.note(o) }

func (c *hand) Acknowledge(_ context.Context, o press.AckOrder) ([]press.Alert, error) {
	st, err := c.note(o)
	if c.src != nil {
		for i := range st.Alerts {
			if st.Alerts[i].ID == o.Alert {
				st.Alerts[i].State = press.AlertAcknowledged
			}
		}
		c.src.set(st)
	}
	return []press.Alert{}, err
}

func post(h http.Handler, path, body string) (int, string) {
	rec := visit{method: http.MethodPost, path: path, body: body, from: local}.to(h)
	return rec.Code, rec.Body.String()
}

func TestOrders(t *testing.T) {
	flat := false
	for _, c := range []struct {
		path, body string
		want       any
	}{
		{
			"start", `{"press":"other","glue":"uf-two-part","work":"deck","floor_pa":65000,"plies":5,"strained":false}`,
			press.StartOrder{Press: "deck", Glue: "uf-two-part", Work: "deck", FloorPa: 65000, Plies: 5, Strained: &flat},
		},
		{"release", ``, press.MarkOrder{Press: "deck"}},
		{"top-up", `{}`, press.MarkOrder{Press: "deck"}},
		{"note", `{"text":"warmer now"}`, press.MarkOrder{Press: "deck", Text: "warmer now"}},
		{"drop-test", `{"hold_s":86400}`, press.DropTestOrder{Press: "deck", HoldS: 86400, FloorPa: press.Unknown(), WithinS: press.Unknown()}},
		{"drop-test", `{"cancel":true}`, press.DropTestOrder{Press: "deck", HoldS: press.Unknown(), FloorPa: press.Unknown(), WithinS: press.Unknown(), Cancel: true}},
		{"weather", `{"low_c":-2}`, press.WeatherOrder{Press: "deck", LowC: -2, HighC: press.Unknown()}},
		{"weather", `{"forget":true}`, press.WeatherOrder{Press: "deck", LowC: press.Unknown(), HighC: press.Unknown(), Forget: true}},
		{"glue", `{"glue":"pva-d3"}`, press.GlueOrder{Press: "deck", Glue: "pva-d3"}},
		{"acknowledge", `{"alert":"a-1","snooze_s":3600}`, press.AckOrder{Press: "deck", Alert: "a-1", By: "local", Snooze: 3600}},
	} {
		cfg := config(newFake(deck()))
		control := &hand{}
		cfg.Control = control
		code, body := post(web.New(cfg), "/api/v1/presses/deck/"+c.path, c.body)
		if code != 200 || len(control.asked) != 1 {
			t.Errorf("%s: %d %s", c.path, code, body)
			continue
		}
		got, _ := json.Marshal(control.asked[0])
		want, _ := json.Marshal(c.want)
		if string(got) != string(want) {
			t.Errorf("%s: asked %s, want %s", c.path, got, want)
		}
	}
}

// A start that names no floor means the configured one, not 0 Pa.
func TestStartWithoutFloor(t *testing.T) {
	cfg := config(newFake(deck()))
	control := &hand{}
	cfg.Control = control
	post(web.New(cfg), "/api/v1/presses/deck/start", `{}`)
	if o := control.asked[0].(press.StartOrder); o.FloorPa.Known() {
		t.Errorf("the floor is %v", o.FloorPa)
	}
}

func TestOrdersThatFail(t *testing.T) {
	cfg := config(newFake(deck()))
	for _, c := range []struct {
		body string
		err  error
		code int
		say  string
	}{
		{`{"txt":"x"}`, nil, 400, "txt"},
		{`{"text":"x"}{}`, nil, 400, "something follows"},
		{`[1]`, nil, 400, "one JSON object"},
		{`{"text":"` + strings.Repeat("x", 40<<10) + `"}`, nil, 400, "too large"},
		{`{}`, press.Errorf(press.WrongStage, "no run is on deck; start one first"), 409, "no run is on deck"},
		{`{}`, press.Errorf(press.NotFound, "no press"), 404, "no press"},
		{`{}`, fmt.Errorf("disk full"), 500, "disk full"},
	} {
		cfg.Control = &hand{err: c.err}
		code, body := post(web.New(cfg), "/api/v1/presses/deck/note", c.body)
		if code != c.code || !strings.Contains(body, c.say) {
			t.Errorf("%.40s: %d %s, want %d", c.body, code, body, c.code)
		}
	}
	cfg.Control = nil
	if code, _ := post(web.New(cfg), "/api/v1/presses/deck/note", `{}`); code != 405 && code != 404 {
		t.Errorf("an order when none are carried out: %d", code)
	}
}
