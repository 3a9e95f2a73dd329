package drivers

import (
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"github.com/nightclamp/nightclamp/sensor"
)

// sections of every page, in this order.
var sections = []string{"Wiring", "In the config", "What you should see", "Range and noise", "Watch out", "Datasheet"}

// block is an example for the config in a page.
var block = regexp.MustCompile("(?ms)^```toml\n(.*?)^```$")

func TestPages(t *testing.T) {
	total := 0
	for _, d := range Table() {
		t.Run(d.Name, func(t *testing.T) {
			total += len(d.Page)
			if !strings.HasPrefix(d.Page, "# "+d.Name+": ") {
				t.Errorf("the page begins with %.40q", d.Page)
			}
			var found []string
			for line := range strings.Lines(d.Page) {
				line = strings.TrimRight(line, "\n")
				if utf8.RuneCountInString(line) > 100 {
					t.Errorf("longer than 100 characters: %s", line)
				}
				if title, ok := strings.CutPrefix(line, "## "); ok {
					found = append(found, title)
				}
			}
			if !reflect.DeepEqual(found, sections) {
				t.Errorf("sections %q, want %q", found, sections)
			}
			for _, title := range sections {
				if len(strings.TrimSpace(section(d.Page, title))) < 20 {
					t.Errorf("section %s says nothing", title)
				}
			}
		})
	}
	if total > 60_000 {
		t.Errorf("the pages are %d bytes: they are in every binary, keep them below 60,000", total)
	}
}

// section is what stands below a heading.
func section(page, title string) string {
	_, rest, _ := strings.Cut(page, "\n## "+title+"\n")
	text, _, _ := strings.Cut(rest, "\n## ")
	return text
}

// Every example for the config is one that the driver takes.
func TestPageExamples(t *testing.T) {
	for _, d := range Table() {
		examples := block.FindAllStringSubmatch(section(d.Page, "In the config"), -1)
		if len(examples) == 0 || len(examples) != len(block.FindAllString(d.Page, -1)) {
			t.Errorf("%s: %d examples below In the config: all of the page's, and one at least, belong there", d.Name, len(examples))
		}
		for _, e := range examples {
			tables := sensorsOf(t, e[1])
			if len(tables) == 0 {
				t.Errorf("%s: no [[press.sensor]] in\n%s", d.Name, e[1])
			}
			for _, keys := range tables {
				if keys["driver"] != d.Name {
					t.Errorf("%s: an example for driver %v", d.Name, keys["driver"])
				}
				delete(keys, "driver")
				part, err := d.Configure(Env{}, keys)
				if err != nil {
					t.Errorf("%s: %v in\n%s", d.Name, err, e[1])
				}
				for _, q := range part.Reads {
					if !slices.Contains(d.Reads, q) {
						t.Errorf("%s reads %s by\n%s\nbut the table says %v", d.Name, q, e[1], d.Reads)
					}
				}
			}
		}
	}
}

func sensorsOf(t *testing.T, text string) []Options {
	t.Helper()
	var file struct {
		Press struct {
			Sensor []map[string]any `toml:"sensor"`
		} `toml:"press"`
	}
	if err := toml.Unmarshal([]byte(text), &file); err != nil {
		t.Errorf("%v in\n%s", err, text)
	}
	options := make([]Options, len(file.Press.Sensor))
	for i, keys := range file.Press.Sensor {
		options[i] = keys
	}
	return options
}

// Whatever a driver reads, its page says in which unit.
func TestPagesHaveUnits(t *testing.T) {
	pressure, temperature := regexp.MustCompile(`\b(Pa|kPa|hPa)\b`), regexp.MustCompile(`°C`)
	units := map[sensor.Quantity]*regexp.Regexp{
		sensor.Bag: pressure, sensor.Ambient: pressure, sensor.GlueLine: temperature, sensor.Air: temperature,
		sensor.Humidity: regexp.MustCompile(`\d %|, %| and %`),
	}
	for _, d := range Table() {
		text := section(d.Page, "Range and noise")
		for _, q := range d.Reads {
			if unit := units[q]; unit == nil || !unit.MatchString(text) {
				t.Errorf("%s reads %s, and its page gives no range with the unit %s", d.Name, q, unit)
			}
		}
	}
}

// A default as it is listed means the default when it is put into the config;
// a large pressure does to within 0.1 Pa.
func TestDefaultsAreLiterals(t *testing.T) {
	for _, d := range Table() {
		want, err := d.decode(nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range d.Options {
			if o.Default == "" {
				continue
			}
			var keys map[string]any
			if err := toml.Unmarshal([]byte(o.Key+" = "+o.Default), &keys); err != nil {
				t.Errorf("%s: %s = %s: %v", d.Name, o.Key, o.Default, err)
				continue
			}
			got, err := d.decode(keys)
			if err != nil {
				t.Errorf("%s: %s = %s: %v", d.Name, o.Key, o.Default, err)
				continue
			}
			if !alike(reflect.ValueOf(got), reflect.ValueOf(want)) {
				t.Errorf("%s: %s = %s means\n%+v, not\n%+v", d.Name, o.Key, o.Default, got, want)
			}
		}
	}
}

// alike reports whether two configs are equal but for a rounding of 0.1 in
// large numbers.
func alike(a, b reflect.Value) bool {
	switch a.Kind() {
	case reflect.Struct:
		if a.NumField() == 0 || !a.Type().Field(0).IsExported() { // a time
			return reflect.DeepEqual(a.Interface(), b.Interface())
		}
		for i := range a.NumField() {
			if !alike(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Float64:
		x, y := a.Float(), b.Float()
		return x == y || (math.Abs(x) >= 1000 && math.Abs(x-y) <= 0.1)
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

func TestLiterals(t *testing.T) {
	for _, c := range []struct{ driver, key, want string }{
		{"mpr", "address", "0x18"},
		{"mpr", "bus", ""},
		{"mpr", "transfer", `"A"`},
		{"mpr", "min_pa", "0"},
		{"ads1115", "low_pa", "-99974"},
		{"bme280", "air", "true"},
		{"serial", "every", `"1s"`},
		{"serial", "reads", `["bag"]`},
		{"nats", "url", ""},
		{"sim", "start", ""},
		{"sim", "bag.glueline_lag", `"1h30m"`},
		{"sim", "script.seal", `"0s"`},
		{"sim", "script.fronts", `[{from = "2h", to = "9h", by_pa = -900}]`},
	} {
		d, err := Find(c.driver)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, o := range d.Options {
			if o.Key == c.key {
				found = true
				if o.Default != c.want {
					t.Errorf("%s: %s = %s, want %s", c.driver, c.key, o.Default, c.want)
				}
			}
		}
		if !found {
			t.Errorf("%s has no %s", c.driver, c.key)
		}
	}
}
