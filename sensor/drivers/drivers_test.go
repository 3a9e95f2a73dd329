package drivers

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

func env(now time.Time) Env { return Env{Now: func() time.Time { return now }} }

func TestTableIsSortedAndComplete(t *testing.T) {
	table := Table()
	if !slices.IsSortedFunc(table, func(a, b Driver) int { return strings.Compare(a.Name, b.Name) }) {
		t.Error("the table is not sorted by name")
	}
	for _, d := range table {
		if d.Summary == "" || len(d.Reads) == 0 || d.Configure == nil || len(d.Options) == 0 {
			t.Errorf("driver %s lacks something: %+v", d.Name, d)
		}
		for _, o := range d.Options {
			if o.Doc == "" || o.Type == "" {
				t.Errorf("driver %s: option %s has no doc or type", d.Name, o.Key)
			}
		}
	}
}

func TestSimulatedNight(t *testing.T) {
	d, err := Find("sim")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 10, 16, 20, 0, 0, 0, time.UTC)
	source, err := d.New(t.Context(), env(now), Options{
		"scenario": "plain",
		"bag":      map[string]any{"free_volume_l": int64(3), "gas_lag": "30s"},
		"room":     map[string]any{"pressure_pa": 98000.0},
		"script": map[string]any{
			"pump_runs": []any{map[string]any{"from": "1h", "to_vacuum_pa": 80000.0}},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	s, err := source.Read(t.Context())
	if err != nil || s.Bag != 98000 || s.Ambient != 98000 || s.Air != 20 || !s.Time.Equal(now) {
		t.Errorf("got %+v, %v", s, err)
	}
}

// A list in the config stands for the whole list, not for its first elements.
func TestListsAreReplaced(t *testing.T) {
	cfg := simConfig{}
	cfg.Scenario.Leaks = nil
	base := scenarios()["boat-shed"]()
	cfg.Config = base
	err := Options{"script": map[string]any{"leaks": []any{map[string]any{"from": "2h", "pa_per_h": 500}}}}.decode(&cfg)
	if err != nil {
		t.Fatal(err)
	}
	if len(cfg.Scenario.Leaks) != 1 || cfg.Scenario.Leaks[0].PaPerH != 500 || cfg.Scenario.Leaks[0].To != 0 {
		t.Errorf("got %+v", cfg.Scenario.Leaks)
	}
	if len(cfg.Scenario.Fronts) != len(base.Scenario.Fronts) {
		t.Error("a list that was not named is gone")
	}
}

func TestSimReadsWhatItHas(t *testing.T) {
	d, err := Find("sim")
	if err != nil {
		t.Fatal(err)
	}
	part, err := d.Configure(Env{}, Options{"part": map[string]any{"no_ambient": true, "no_air": true, "no_humidity": true}})
	if err != nil {
		t.Fatal(err)
	}
	if want := []sensor.Quantity{sensor.Bag, sensor.GlueLine}; !slices.Equal(part.Reads, want) {
		t.Errorf("reads %v, want %v", part.Reads, want)
	}
}

func TestOptionErrors(t *testing.T) {
	for _, c := range []struct {
		driver  string
		options Options
		key     string
		want    string
	}{
		{"sim", Options{"sed": 1}, "sed", "option sed is not known: did you mean seed?"},
		{"sim", Options{"bag": map[string]any{"free_volume": 1}}, "bag.free_volume", "option bag.free_volume is not known: did you mean bag.free_volume_l?"},
		{"sim", Options{"seed": "x"}, "seed", "option seed is x: give a whole number"},
		{"sim", Options{"bag": map[string]any{"gas_lag": "soon"}}, "bag.gas_lag", "option bag.gas_lag is no duration: write it like 90s, 5m or 1h30m"},
		{"sim", Options{"scenario": "beach"}, "scenario", "option scenario is beach: there are boat-shed and plain"},
		{"sim", Options{"scenario": 4}, "scenario", "option scenario is 4: give text"},
		{"csv", Options{"Path": "x"}, "Path", "option Path is not known: did you mean path?"},
	} {
		d, err := Find(c.driver)
		if err != nil {
			t.Fatal(err)
		}
		_, err = d.Configure(Env{}, c.options)
		var o *OptionError
		if !errors.As(err, &o) {
			t.Errorf("%v: %v is no *OptionError", c.options, err)
			continue
		}
		if o.Key != c.key || err.Error() != c.want {
			t.Errorf("got  %q: %s\nwant %q: %s", o.Key, err, c.key, c.want)
		}
	}
}

func TestFindUnknown(t *testing.T) {
	_, err := Find("smi")
	if err == nil || err.Error() != `there is no driver "smi": did you mean sim?` {
		t.Errorf("got %v", err)
	}
}

// A driver that has a bus takes an address on it, also one that was added without a
// word in claim.go.
func TestPartsOnABusClaimTheirAddress(t *testing.T) {
	on := 0
	for _, d := range Table() {
		if !slices.ContainsFunc(d.Options, func(o Option) bool { return o.Key == "bus" }) {
			continue
		}
		options := Options{}
		if d.Name == "currentloop" {
			options["high_pa"] = 0.0
		}
		part, err := d.Configure(Env{}, options)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		if len(part.Claims) == 0 || part.Claims[0].Kind != I2C || part.Claims[0].At == "" {
			t.Errorf("%s claims %+v", d.Name, part.Claims)
		}
		on++
	}
	if on < 12 {
		t.Errorf("only %d drivers have a bus", on)
	}
}
