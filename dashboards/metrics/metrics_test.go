package metrics_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"

	"github.com/nightclamp/nightclamp/dashboards/metrics"
	"github.com/nightclamp/nightclamp/press"
)

// sampled is the moment of the newest sample of every status in these tests.
var sampled = time.Date(2026, time.October, 17, 3, 0, 0, 0, time.UTC)

func deck() press.Status {
	return press.Status{
		Time: sampled, Site: "boatshed", Press: "deck", Run: "20261016-deck", Work: "birch sled deck",
		Glue: "uf-two-part", Started: sampled.Add(-7 * time.Hour), Stage: press.Hold, StageAt: sampled.Add(-6 * time.Hour),
		Verdict:  press.WillNotHold,
		VacuumPa: 78200, BagPa: 22100, AmbientPa: 100300, FloorPa: 65000, GluelineC: 11.5, AirC: 7.25, MinUseC: 10,
		Settled: true, Leaking: true,
		LeakRate:        press.Band{Low: 1800, Expected: 2160, High: 2520},
		FloorAt:         press.Span{Early: sampled.Add(time.Hour), Expected: sampled.Add(90 * time.Minute)},
		Progress:        press.Band{Low: 0.4, Expected: 0.5, High: 0.6},
		ClampedProgress: press.Band{Low: 0.4, Expected: 0.5, High: 0.6},
		PressTimeAt:     press.Span{Early: sampled.Add(-time.Second), Expected: sampled.Add(5 * time.Hour), Late: sampled.Add(8 * time.Hour)},
		MarginS:         press.Band{Low: -25200, Expected: -12600, High: -60},
		HoldChance:      0.25, TopUpBy: []time.Time{sampled.Add(time.Hour)}, UnclampedFrom: press.Unknown(),
		TopUps: 2, Samples: 216000,
		Conditions: []press.Condition{{Kind: press.LeakFound}, {Kind: press.MarginGone}, {Kind: press.SensorSilent, Quantity: "air"}},
		Sensors: []press.SensorStatus{
			{Name: "bag", Healthy: true, LastAt: sampled},
			{Name: "probe", Errors: 7},
			{Name: "probe", Errors: 9}, // a second one of the name must not spoil the scrape
		},
		Alerts: []press.AlertStatus{{Name: "margin_gone", Severity: "wake"}, {Name: "too_cold", Severity: "note"}},
	}
}

// bare is a press of which nothing is known yet.
func bare() press.Status {
	u := press.Unknown()
	none := press.Band{Low: u, Expected: u, High: u}
	return press.Status{
		Time: sampled, Site: "boatshed", Press: "runners", Stage: press.Idle, Verdict: press.Unsure,
		VacuumPa: u, BagPa: u, AmbientPa: u, FloorPa: u, GluelineC: u, AirC: u, MinUseC: u,
		LeakRate: none, Progress: none, ClampedProgress: none, MarginS: none, HoldChance: u, UnclampedShare: u, UnclampedFrom: u,
	}
}

func registry(t *testing.T, statuses ...press.Status) *prometheus.Registry {
	t.Helper()
	return metrics.NewRegistry(metrics.Config{
		Status:  func() []press.Status { return statuses },
		Now:     func() time.Time { return sampled.Add(4 * time.Second) },
		Version: "1.2.3", Revision: "abc",
	})
}

func TestClean(t *testing.T) {
	problems, err := testutil.GatherAndLint(registry(t, deck(), bare()))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

func TestValues(t *testing.T) {
	want := map[string]float64{
		`nightclamp_vacuum_pascals{press="deck",site="boatshed"}`:                                      78200,
		`nightclamp_leak_rate_pascals_per_second{press="deck",site="boatshed"}`:                        0.6,
		`nightclamp_leak_rate_low_pascals_per_second{press="deck",site="boatshed"}`:                    0.5,
		`nightclamp_leak_rate_high_pascals_per_second{press="deck",site="boatshed"}`:                   0.7,
		`nightclamp_floor_crossing_remaining_seconds{press="deck",site="boatshed"}`:                    5400,
		`nightclamp_press_time_remaining_seconds{press="deck",site="boatshed"}`:                        18000,
		`nightclamp_press_time_remaining_early_seconds{press="deck",site="boatshed"}`:                  0,
		`nightclamp_margin_seconds{press="deck",site="boatshed"}`:                                      -12600,
		`nightclamp_margin_low_seconds{press="deck",site="boatshed"}`:                                  -25200,
		`nightclamp_hold_chance_ratio{press="deck",site="boatshed"}`:                                   0.25,
		`nightclamp_top_ups_needed{press="deck",site="boatshed"}`:                                      1,
		`nightclamp_stage{press="deck",site="boatshed",stage="hold"}`:                                  1,
		`nightclamp_stage{press="deck",site="boatshed",stage="idle"}`:                                  0,
		`nightclamp_stage{press="runners",site="boatshed",stage="idle"}`:                               1,
		`nightclamp_verdict{press="deck",site="boatshed",verdict="will_not_hold"}`:                     1,
		`nightclamp_condition{condition="leak_found",press="deck",site="boatshed"}`:                    1,
		`nightclamp_condition{condition="below_floor",press="deck",site="boatshed"}`:                   0,
		`nightclamp_active_alerts{press="deck",severity="wake",site="boatshed"}`:                       1,
		`nightclamp_active_alerts{press="deck",severity="warn",site="boatshed"}`:                       0,
		`nightclamp_alert_active{alert="too_cold",press="deck",site="boatshed"}`:                       1,
		`nightclamp_press_info{glue="uf-two-part",press="deck",site="boatshed"}`:                       1,
		`nightclamp_sample_age_seconds{press="deck",site="boatshed"}`:                                  4,
		`nightclamp_samples_total{press="deck",site="boatshed"}`:                                       216000,
		`nightclamp_top_ups_total{press="deck",site="boatshed"}`:                                       2,
		`nightclamp_sensor_up{press="deck",sensor="bag",site="boatshed"}`:                              1,
		`nightclamp_sensor_up{press="deck",sensor="probe",site="boatshed"}`:                            0,
		`nightclamp_sensor_errors_total{press="deck",sensor="probe",site="boatshed"}`:                  7,
		`nightclamp_sensor_reading_age_seconds{press="deck",sensor="bag",site="boatshed"}`:             4,
		`nightclamp_run_start_timestamp_seconds{press="deck",site="boatshed"}`:                         float64(sampled.Add(-7 * time.Hour).Unix()),
		fmt.Sprintf(`nightclamp_build_info{goversion=%q,revision="abc",version="1.2.3"}`, goversion()): 1,
	}
	got := gather(t, registry(t, deck(), bare()))
	for series, value := range want {
		if v, ok := got[series]; !ok || v != value {
			t.Errorf("%s = %v (there: %v), want %v", series, v, ok, value)
		}
	}
}

// What is not known has no series: neither 0, which is a perfect vacuum or a
// hard frost, nor NaN.
func TestUnknownIsLeftOut(t *testing.T) {
	for series := range gather(t, registry(t, bare())) {
		for _, name := range []string{
			"vacuum_", "bag_pressure", "ambient", "temperature", "leak_rate", "progress", "margin",
			"remaining", "hold_chance", "unclamped", "run_start", "sensor", "alert_active",
		} {
			if strings.HasPrefix(series, "nightclamp_"+name) || strings.Contains(series, name+"_celsius") {
				t.Errorf("%s is there although nothing is known", series)
			}
		}
	}
	if _, ok := gather(t, registry(t, deck()))[`nightclamp_floor_crossing_remaining_late_seconds{press="deck",site="boatshed"}`]; ok {
		t.Error("a crossing that does not come within the forecast has a time")
	}
}

func TestSamePressTwice(t *testing.T) {
	if _, err := registry(t, deck(), deck()).Gather(); err != nil {
		t.Error(err)
	}
}

func TestHandler(t *testing.T) {
	rec := httptest.NewRecorder()
	metrics.Handler(registry(t, deck()), nil).ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	body, _ := io.ReadAll(rec.Body)
	for _, want := range []string{"nightclamp_vacuum_pascals", "go_goroutines", "process_"} {
		if !strings.Contains(string(body), want) {
			t.Errorf("no %s in the scrape", want)
		}
	}
}
