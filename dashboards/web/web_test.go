package web_test

import (
	"compress/gzip"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zone of the test must be there everywhere

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

func config(src web.Source) web.Config {
	return web.Config{
		Source:  src,
		Display: units.Display{Location: time.UTC},
		Now:     func() time.Time { return night.Add(2 * time.Second) },
		Version: "1.2.3",
		Metrics: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "metrics here\n") }),
	}
}

// local is a peer on this machine.
const local = "127.0.0.1:40000"

func get(t *testing.T, h http.Handler, path string, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, "http://localhost:8080"+path, nil)
	r.RemoteAddr = local
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec
}

func TestPageAndItsFiles(t *testing.T) {
	h := web.New(config(newFake(deck())))
	for path, kind := range map[string]string{
		"/": "text/html", "/app.js": "text/javascript", "/page.css": "text/css", "/icon.svg": "image/svg+xml",
		"/lib/uPlot.js": "text/javascript", "/app.webmanifest": "application/manifest+json",
	} {
		rec := get(t, h, path)
		if rec.Code != 200 || !strings.HasPrefix(rec.Header().Get("Content-Type"), kind) {
			t.Errorf("%s: %d %s", path, rec.Code, rec.Header().Get("Content-Type"))
		}
		again := get(t, h, path, "If-None-Match", rec.Header().Get("ETag"))
		if again.Code != http.StatusNotModified {
			t.Errorf("%s with its ETag: %d, want 304", path, again.Code)
		}
	}
	if rec := get(t, h, "/page/index.html"); rec.Code != 404 {
		t.Errorf("a path that is not there: %d", rec.Code)
	}
	rec := get(t, h, "/lib/uPlot.js", "Accept-Encoding", "br, gzip")
	z, err := gzip.NewReader(rec.Body)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(z)
	if err != nil || !strings.Contains(string(body), "uPlot") {
		t.Errorf("the gzipped library cannot be read: %v", err)
	}
}

// The page holds nothing inline and nothing from elsewhere; the policy would
// stop it, and the browser test hears of it, but this says where.
func TestNothingInlineNothingForeign(t *testing.T) {
	body := get(t, web.New(config(newFake())), "/").Body.String()
	for _, bad := range []string{" style=", "<style", " onclick", "http://", "https://", "//cdn"} {
		if strings.Contains(body, bad) {
			t.Errorf("the page has %q", bad)
		}
	}
}

func TestHeaders(t *testing.T) {
	h := web.New(config(newFake(deck())))
	for _, path := range []string{"/", "/api/v1/status", "/nowhere", "/metrics"} {
		got := get(t, h, path).Header()
		if p := got.Get("Content-Security-Policy"); !strings.Contains(p, "default-src 'none'") || strings.Contains(p, "unsafe") {
			t.Errorf("%s: policy %q", path, p)
		}
		if got.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: sniffing allowed", path)
		}
	}
}

func TestForeignHostIsRefused(t *testing.T) {
	cfg := config(newFake(deck()))
	cfg.Hosts = []string{"shed.example.org"}
	h := web.New(cfg)
	for host, want := range map[string]int{
		"localhost:8080": 200, "127.0.0.1": 200, "[::1]:8080": 200, "192.168.1.20:8080": 200, "Shed.Example.org": 200,
		"evil.example.com": 421, "evil.example.com:8080": 421, "localhost.evil.example.com": 421, "": 421,
	} {
		r := httptest.NewRequest(http.MethodGet, "/api/v1/status", nil)
		r.Host, r.RemoteAddr = host, local
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, r)
		if rec.Code != want {
			t.Errorf("host %q: %d, want %d", host, rec.Code, want)
		}
	}
}

func TestStatus(t *testing.T) {
	rec := get(t, web.New(config(newFake(deck(), bare()))), "/api/v1/status")
	var snap web.Snapshot
	if err := json.Unmarshal(rec.Body.Bytes(), &snap); err != nil {
		t.Fatalf("%v in %s", err, rec.Body)
	}
	if len(snap.Presses) != 2 {
		t.Fatalf("%d presses", len(snap.Presses))
	}
	p := snap.Presses[0]
	if p.Sentence != deck().Sentence || math.Abs(float64(p.VacuumPa-deck().VacuumPa)) > 0.01 || p.SampleAgeS != 2 || p.Stale {
		t.Errorf("got %+v", p)
	}
	want := web.Shown{
		Verdict: "Will not hold", Stage: "Hold", StageFor: "6 h 45 min", Time: "03:00", Vacuum: "79 kPa", Floor: "65 kPa",
		Bag: "22 kPa", Ambient: "100 kPa", Glueline: "9.9 °C", Air: "6.9 °C", MinUse: "5.0 °C",
		LeakRate: "3.1 kPa/h", LeakRateRange: "2.6 to 3.7 kPa/h", LeakOnset: "01:12",
		Progress: "50 %", ProgressRange: "45 to 54 %", PressTimeAt: "09:50", PressTimeSpan: "08:55 to 11:20",
		Started: "19:40 yesterday",
	}
	got := p.Shown
	want.FloorAt, want.FloorSpan, want.Margin, want.MarginRange = got.FloorAt, got.FloorSpan, got.Margin, got.MarginRange
	want.HoldChance, want.TopUpBy = "4 %", []string{"06:40"}
	want.Humidity = "78 %"
	want.AlertsSince = []string{"02:12", "02:51"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("shown\n%+v, want\n%+v", got, want)
	}
	if got.Margin != "2 h 25 min short" || got.MarginRange != "4 h 35 min to 43 min short" {
		t.Errorf("margin %q (%q)", got.Margin, got.MarginRange)
	}
	if q := snap.Presses[1]; q.SampleAgeS.Known() || q.Stale || q.Shown.Vacuum != units.Missing || q.Shown.Margin != "" {
		t.Errorf("a press without a sample: %+v", q)
	}
}

func TestStale(t *testing.T) {
	for _, c := range []struct {
		age   time.Duration
		speed float64
		stale bool
	}{
		{14 * time.Second, 1, false}, {16 * time.Second, 1, true},
		{14 * 900 * time.Second, 900, false}, {16 * 900 * time.Second, 900, true},
	} {
		cfg := config(newFake(deck()))
		cfg.Now, cfg.Speed = func() time.Time { return night.Add(c.age) }, c.speed
		var snap web.Snapshot
		if err := json.Unmarshal(get(t, web.New(cfg), "/api/v1/status").Body.Bytes(), &snap); err != nil {
			t.Fatal(err)
		}
		if snap.Presses[0].Stale != c.stale {
			t.Errorf("%v at speed %v: stale %v", c.age, c.speed, snap.Presses[0].Stale)
		}
	}
}

// What is far ahead is told in days, and near moments as the sentence rounds
// them.
func TestMomentsAhead(t *testing.T) {
	st := deck()
	st.FloorAt = press.Span{Early: night.Add(130 * time.Hour), Expected: night.Add(180 * time.Hour), Late: night.Add(250 * time.Hour)}
	st.PressTimeAt = press.Span{Early: night.Add(7*time.Hour + 34*time.Minute), Expected: night.Add(22*time.Hour + 4*time.Minute), Late: night.Add(29 * time.Hour)}
	var snap web.Snapshot
	if err := json.Unmarshal(get(t, web.New(config(newFake(st))), "/api/v1/status").Body.Bytes(), &snap); err != nil {
		t.Fatal(err)
	}
	got := snap.Presses[0].Shown
	if got.FloorAt != "in 7 days" || got.FloorSpan != "5 to 10 days" {
		t.Errorf("floor %q (%q)", got.FloorAt, got.FloorSpan)
	}
	if got.PressTimeAt != "01:00 tomorrow" || got.PressTimeSpan != "10:30 to 08:00 tomorrow" {
		t.Errorf("press time %q (%q)", got.PressTimeAt, got.PressTimeSpan)
	}
}

func TestCountdown(t *testing.T) {
	st := bare()
	st.Time, st.Stage = night, press.Layup
	st.OpenLimit, st.ClosedLimit = night.Add(2*time.Minute), night.Add(12*time.Minute)
	shown := func() string {
		var snap web.Snapshot
		if err := json.Unmarshal(get(t, web.New(config(newFake(st))), "/api/v1/status").Body.Bytes(), &snap); err != nil {
			t.Fatal(err)
		}
		return snap.Presses[0].Shown.Countdown
	}
	if got := shown(); got != "12 min left, vacuum by 03:12, faces together by 03:02" {
		t.Errorf("got %q", got)
	}
	st.Time = night.Add(15 * time.Minute)
	if got := shown(); got != "Assembly time over by 3 min" {
		t.Errorf("got %q", got)
	}
	st.Stage = press.Hold
	if got := shown(); got != "" {
		t.Errorf("in the hold: %q", got)
	}
}

func TestSettings(t *testing.T) {
	cfg := config(newFake())
	zone, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Display = units.Display{PressureUnit: units.InHg, TemperatureUnit: units.Fahrenheit, Location: zone}
	var got web.Settings
	if err := json.Unmarshal(get(t, web.New(cfg), "/api/v1/config").Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.Pressure.Symbol != "inHg" || got.Pressure.Factor*3386.389 < 0.9999 || got.Pressure.Factor*3386.389 > 1.0001 {
		t.Errorf("pressure %+v", got.Pressure)
	}
	if f := got.Temperature; f.Symbol != "°F" || f.Factor < 1.7999 || f.Factor > 1.8001 || f.Offset != 32 {
		t.Errorf("temperature %+v", f)
	}
	// The clocks of Finland go back at 01:00 UTC on the last Sunday of October:
	// Directive 2000/84/EC, articles 2 and 3.
	want := time.Date(2026, time.October, 25, 1, 0, 0, 0, time.UTC).Unix()
	found := false
	for _, z := range got.Zone {
		found = found || z == web.ZoneStep{From: want, OffsetS: 7200}
	}
	if !found {
		t.Errorf("no step to winter time at %d in %v", want, got.Zone)
	}
}

func TestMetricsAndHealth(t *testing.T) {
	h := web.New(config(newFake()))
	if got := get(t, h, "/metrics").Body.String(); got != "metrics here\n" {
		t.Errorf("metrics: %q", got)
	}
	if got := get(t, h, "/healthz").Body.String(); got != "ok\n" {
		t.Errorf("health: %q", got)
	}
	cfg := config(newFake())
	cfg.Metrics = nil
	if rec := get(t, web.New(cfg), "/metrics"); rec.Code != 404 {
		t.Errorf("metrics when there are none: %d", rec.Code)
	}
}

// What is wrong with the board itself is shown with every press: alerts that do
// not get out can be told in no other way.
func TestTheBoardsTroublesAreShown(t *testing.T) {
	cfg := config(newFake(deck()))
	cfg.Board = func() []press.Alert {
		return []press.Alert{{ID: "board/delivery_failing/x", Name: "delivery_failing", Severity: press.Warn, State: press.AlertRaised, Text: "Alerts have not got out.", RaisedAt: night}}
	}
	body := get(t, web.New(cfg), "/api/v1/status").Body.String()
	for _, says := range []string{`"board":[{`, `"id":"board/delivery_failing/x"`, `"text":"Alerts have not got out."`, `"shown_since":"`} {
		if !strings.Contains(body, says) {
			t.Errorf("the status lacks %s: %.300s", says, body)
		}
	}
}
