package wire

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/micro"

	"github.com/nightclamp/nightclamp/press"
)

// bench is a controller with one press, in layup when started.
type bench struct{ orders chan any }

func (b bench) took(order any) (press.Status, error) {
	b.orders <- order
	return press.Status{Schema: press.Schema, Press: "deck", Stage: press.Layup, FloorPa: press.Unknown()}, nil
}

func (b bench) Status(_ context.Context, name string) ([]press.Status, error) {
	if name != "" && name != "deck" {
		return nil, press.Errorf(press.NotFound, "there is no press %q; there is deck", name)
	}
	return []press.Status{{Press: "deck", Sensors: []press.SensorStatus{{Name: "mpr"}}}}, nil
}
func (b bench) Start(_ context.Context, o press.StartOrder) (press.Status, error) { return b.took(o) }
func (b bench) Release(context.Context, press.MarkOrder) (press.Status, error) {
	return press.Status{}, press.Errorf(press.WrongStage, "deck is idle:\nthere is nothing to release")
}
func (b bench) TopUp(_ context.Context, o press.MarkOrder) (press.Status, error) { return b.took(o) }
func (b bench) DropTest(_ context.Context, o press.DropTestOrder) (press.Status, error) {
	return b.took(o)
}
func (b bench) Weather(_ context.Context, o press.WeatherOrder) (press.Status, error) {
	return b.took(o)
}
func (b bench) Note(context.Context, press.MarkOrder) (press.Status, error) {
	return press.Status{}, errors.New("disk full")
}
func (b bench) SetGlue(_ context.Context, _ press.GlueOrder) (press.Status, error) { panic("a fault") }
func (b bench) Alerts(context.Context, string) ([]press.Alert, error) {
	return []press.Alert{{ID: "deck/leak_found/1"}}, nil
}
func (b bench) Acknowledge(_ context.Context, o press.AckOrder) ([]press.Alert, error) {
	b.orders <- o
	return []press.Alert{{ID: o.Alert, State: press.AlertAcknowledged}}, nil
}

func (b bench) Ways(context.Context) ([]press.WayHealth, error) {
	return []press.WayHealth{{Name: "phone", Waiting: 2}}, nil
}
func (b bench) TestWays(context.Context) ([]press.Tried, error) {
	return []press.Tried{{Way: "phone", Error: "no such chat"}}, nil
}

func serveBench(t *testing.T, cfg Config) (*Link, bench) {
	t.Helper()
	l := link(t, cfg)
	b := bench{orders: make(chan any, 8)}
	if err := l.Serve(b); err != nil {
		t.Fatal(err)
	}
	return l, b
}

func dial(t *testing.T, cfg Config) *Client {
	t.Helper()
	c, err := Dial(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

func TestOrders(t *testing.T) {
	l, b := serveBench(t, Config{Version: "v1.2.3"})
	c := dial(t, Config{URL: l.URL()})
	ctx := t.Context()
	if c.Site() != "shed" {
		t.Errorf("found site %q", c.Site())
	}
	yes := true
	order := press.StartOrder{Press: "deck", Glue: "uf-two-part", Work: "sled deck", FloorPa: 65000, Plies: 4, Strained: &yes, At: testStart}
	st, err := c.Start(ctx, order)
	if err != nil || st.Stage != press.Layup {
		t.Fatalf("start: %+v, %v", st, err)
	}
	got := (<-b.orders).(press.StartOrder)
	if got.Glue != order.Glue || got.FloorPa != order.FloorPa || !*got.Strained || !got.At.Equal(testStart) {
		t.Errorf("order came as %+v", got)
	}
	if _, err := c.TopUp(ctx, press.MarkOrder{Press: "deck"}); err != nil {
		t.Error(err)
	}
	<-b.orders
	if _, err := c.Weather(ctx, press.WeatherOrder{Press: "deck", LowC: -2, HighC: press.Unknown()}); err != nil {
		t.Error(err)
	}
	if o := (<-b.orders).(press.WeatherOrder); o.LowC != -2 || o.HighC.Known() {
		t.Errorf("weather came as %+v", o)
	}
	if list, err := c.Sensors(ctx, ""); err != nil || len(list) != 1 || list[0].Sensors[0].Name != "mpr" {
		t.Errorf("sensors: %v, %v", list, err)
	}
	if list, err := c.Alerts(ctx, ""); err != nil || len(list) != 1 {
		t.Errorf("alerts: %v, %v", list, err)
	}
	if list, err := c.Acknowledge(ctx, press.AckOrder{Alert: "x", By: "Aune", Snooze: 600}); err != nil || list[0].ID != "x" {
		t.Errorf("ack: %v, %v", list, err)
	}
	if list, err := c.Ways(ctx); err != nil || len(list) != 1 || list[0].Waiting != 2 {
		t.Errorf("ways: %v, %v", list, err)
	}
	if list, err := c.TestWays(ctx); err != nil || len(list) != 1 || list[0].Error == "" {
		t.Errorf("test of the ways: %v, %v", list, err)
	}
	if v, err := c.Version(ctx); err != nil || v.Version != "v1.2.3" || v.Site != "shed" {
		t.Errorf("version: %+v, %v", v, err)
	}
}

func TestRefusalsKeepTheirCode(t *testing.T) {
	l, _ := serveBench(t, Config{})
	c := dial(t, Config{URL: l.URL(), Site: "shed"})
	ctx := t.Context()
	for _, r := range []struct {
		do   func() error
		code int
		says string
	}{
		{func() error { _, err := c.Status(ctx, "sled"); return err }, press.NotFound, "there is deck"},
		{func() error { _, err := c.Release(ctx, press.MarkOrder{}); return err }, press.WrongStage, "idle: there is nothing"},
		{func() error { _, err := c.Note(ctx, press.MarkOrder{}); return err }, press.Failed, "disk full"},
		{func() error { _, err := c.SetGlue(ctx, press.GlueOrder{}); return err }, press.Failed, "a fault"},
		{func() error { _, err := c.Status(ctx, "a.b"); return err }, press.BadOrder, "a-b"},
	} {
		err := r.do()
		if err == nil || press.Code(err) != r.code || !strings.Contains(err.Error(), r.says) {
			t.Errorf("got %d %v, want %d %q", press.Code(err), err, r.code, r.says)
		}
	}
}

func TestUnknownFieldIsNamed(t *testing.T) {
	l, _ := serveBench(t, Config{})
	nc, err := nats.Connect(l.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	msg, err := nc.RequestWithContext(t.Context(), OrderSubject("shed", "start"), []byte(`{"press":"deck","flor_pa":65000}`))
	if err != nil {
		t.Fatal(err)
	}
	said := msg.Header.Get(micro.ErrorHeader)
	if msg.Header.Get(micro.ErrorCodeHeader) != "400" || !strings.Contains(said, "flor_pa") || !strings.Contains(said, "floor_pa") {
		t.Errorf("refused with %v", msg.Header)
	}
}

// TestDiscovery asks what the nats command line asks: $SRV.PING, INFO, STATS
// (the NATS service API, ADR-32 of nats-architecture-and-design).
func TestDiscovery(t *testing.T) {
	l, _ := serveBench(t, Config{Site: "boatshed", Version: "dev"})
	nc, err := nats.Connect(l.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer nc.Close()
	ask := func(verb micro.Verb, v any) {
		subject, err := micro.ControlSubject(verb, "nightclamp", "")
		if err != nil {
			t.Fatal(err)
		}
		msg, err := nc.RequestWithContext(t.Context(), subject, nil)
		if err != nil {
			t.Fatalf("%s: %v", subject, err)
		}
		if err := json.Unmarshal(msg.Data, v); err != nil {
			t.Fatalf("%s: %v", subject, err)
		}
	}
	var ping micro.Ping
	ask(micro.PingVerb, &ping)
	if ping.Name != "nightclamp" || ping.Version != "0.0.0" || ping.Metadata["site"] != "boatshed" {
		t.Errorf("ping: %+v", ping)
	}
	var info micro.Info
	ask(micro.InfoVerb, &info)
	var subjects []string
	for _, e := range info.Endpoints {
		subjects = append(subjects, e.Subject)
	}
	for _, verb := range []string{"status", "start", "release", "topup", "note", "glue", "alerts", "ack", "sensors", "version", "ways", "test-alert"} {
		if !slices.Contains(subjects, "do.nightclamp.boatshed."+verb) {
			t.Errorf("no endpoint for %s among %v", verb, subjects)
		}
	}
	if _, err := dial(t, Config{URL: l.URL()}).Status(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	var stats micro.Stats
	ask(micro.StatsVerb, &stats)
	for _, e := range stats.Endpoints {
		if e.Name == "status" && e.NumRequests != 1 {
			t.Errorf("status was asked %d times", e.NumRequests)
		}
	}
}

func TestNobodyAnswers(t *testing.T) {
	l := link(t, Config{})
	_, err := Dial(t.Context(), Config{URL: l.URL()})
	if err == nil || !strings.Contains(err.Error(), "nightclamp serve") || !strings.Contains(err.Error(), l.URL()) {
		t.Errorf("server without daemon: %v", err)
	}
	_, err = Dial(t.Context(), Config{URL: "nats://127.0.0.1:1"})
	if err == nil || !strings.Contains(err.Error(), "systemctl start nightclamp") || !strings.Contains(err.Error(), "127.0.0.1:1") {
		t.Errorf("no server: %v", err)
	}
	c := dial(t, Config{URL: l.URL(), Site: "barn"})
	if _, err := c.Status(t.Context(), ""); err == nil || !strings.Contains(err.Error(), `"barn"`) {
		t.Errorf("no such site: %v", err)
	}
}

func TestTwoSitesOnOneServer(t *testing.T) {
	l, _ := serveBench(t, Config{Site: "shed"})
	serveBench(t, Config{Site: "barn", URL: l.URL()})
	deadline := t.Context()
	c := dial(t, Config{URL: l.URL(), Site: "barn"})
	for {
		if _, err := c.Status(deadline, ""); err == nil {
			break
		}
		if deadline.Err() != nil {
			t.Fatal("barn never answers")
		}
	}
	if _, err := Dial(deadline, Config{URL: l.URL()}); err == nil || !strings.Contains(err.Error(), "barn, shed") {
		t.Errorf("which of two: %v", err)
	}
}

func TestWatch(t *testing.T) {
	l, _ := serveBench(t, Config{})
	c := dial(t, Config{URL: l.URL()})
	enough := errors.New("enough")
	done := make(chan error, 1)
	go func() {
		done <- c.Watch(t.Context(), "deck", func(st press.Status) error {
			if st.Press == "deck" {
				return enough
			}
			return nil
		})
	}()
	for n := 0; ; n++ {
		st := press.Status{Press: "deck", Run: strings.Repeat("x", n%7)} // a change each time, so each is sent
		if err := l.Status(st); err != nil {
			t.Fatal(err)
		}
		if _, err := c.Version(t.Context()); err != nil { // a round trip, so that the watcher keeps up
			t.Fatal(err)
		}
		select {
		case err := <-done:
			if !errors.Is(err, enough) {
				t.Error(err)
			}
			return
		default:
		}
	}
}

func FuzzOrder(f *testing.F) {
	f.Add([]byte(`{"press":"deck","glue":"uf-two-part","floor_pa":65000,"plies":4,"strained":true}`))
	f.Add([]byte(`{"press":"deck"} {}`))
	f.Add([]byte(`{"flor_pa":null}`))
	f.Add([]byte(`[1]`))
	f.Add([]byte(``))
	f.Fuzz(func(t *testing.T, data []byte) {
		var order press.StartOrder
		err := decode("start", data, &order)
		if err == nil {
			return
		}
		if press.Code(err) != press.BadOrder {
			t.Errorf("%q: code %d", data, press.Code(err))
		}
		if h := header(err.Error()); strings.ContainsAny(h, "\r\n") {
			t.Errorf("%q: header %q", data, h)
		}
	})
}
