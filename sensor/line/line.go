// Package line reads the one-line messages with which a microcontroller, or
// anything else that can print, gives its readings.
//
// A line is a JSON object with one key or more of
//
//	bag_pa      absolute pressure in the bag, Pa
//	vacuum_pa   room minus bag, Pa, in place of bag_pa
//	ambient_pa  absolute pressure of the room, Pa
//	glueline_c  temperature at the glue line, °C
//	air_c       temperature of the room's air, °C
//	humidity_pct  its relative humidity, %
//
// as {"bag_pa":16012.5,"glueline_c":12.31}; null, or no key, is a missing
// reading. What else stands there (a battery, a name) is passed over, unless it
// looks like a slip of one of these keys. Or it is a row of numbers separated by
// commas, as 16012.5,12.31, whose columns the config names in the same words; an
// empty cell is a missing reading. A line ends with LF or CRLF.
package line

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/agext/levenshtein"

	"github.com/nightclamp/nightclamp/sensor"
)

// Longest is the most bytes a line may have.
const Longest = 1024

// names returns the keys there are.
func names() []string {
	return []string{"bag_pa", "vacuum_pa", "ambient_pa", "glueline_c", "air_c", "humidity_pct"}
}

// Parser reads lines of one form.
type Parser struct{ columns []string }

// New returns a parser of rows with the columns, or of JSON when there are
// none.
func New(columns []string) (Parser, error) {
	for i, c := range columns {
		if !slices.Contains(names(), c) {
			return Parser{}, fmt.Errorf("column %q is not known: there are %s", c, strings.Join(names(), ", "))
		}
		if slices.Contains(columns[:i], c) {
			return Parser{}, fmt.Errorf("column %s is there twice", c)
		}
	}
	if slices.Contains(columns, "bag_pa") && slices.Contains(columns, "vacuum_pa") {
		return Parser{}, errors.New("columns bag_pa and vacuum_pa: give the one that is measured")
	}
	return Parser{columns: columns}, nil
}

// Parse reads a line that came at t.
func (p Parser) Parse(t time.Time, line []byte) (sensor.Sample, error) {
	line = bytes.TrimSpace(line)
	read := parseJSON
	if len(p.columns) > 0 {
		read = p.row
	}
	values, err := read(line)
	if err == nil {
		err = check(values)
	}
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("line %q: %w", shorten(line), err)
	}
	return sample(t, values), nil
}

func parseJSON(line []byte) (map[string]float64, error) {
	decoder := json.NewDecoder(bytes.NewReader(line))
	var all map[string]json.RawMessage
	if err := decoder.Decode(&all); err != nil {
		return nil, fmt.Errorf("no JSON object: %w", err)
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("more than one JSON object")
	}
	values := map[string]float64{}
	var others []string
	for name, text := range all {
		if !slices.Contains(names(), name) {
			others = append(others, name)
			continue
		}
		var v *float64
		if err := json.Unmarshal(text, &v); err != nil {
			return nil, fmt.Errorf("%s is %s, which is not a number", name, text)
		}
		if v != nil {
			values[name] = *v
		}
	}
	return values, judge(others, len(values) > 0)
}

// judge lets pass what a sensor says besides, its battery or its name, but no key
// that seems to be one of ours with a slip in it.
func judge(others []string, readings bool) error {
	slices.Sort(others)
	for _, name := range others {
		for _, ours := range names() {
			if levenshtein.Distance(strings.ToLower(name), ours, nil) <= 2 {
				return fmt.Errorf("key %q is not known: did you mean %s? There are %s", name, ours, strings.Join(names(), ", "))
			}
		}
	}
	if !readings && len(others) > 0 {
		return fmt.Errorf("key %q is not known: there are %s", others[0], strings.Join(names(), ", "))
	}
	return nil
}

func (p Parser) row(line []byte) (map[string]float64, error) {
	cells := strings.Split(string(line), ",")
	if len(cells) != len(p.columns) {
		return nil, fmt.Errorf("%d cells for the %d columns %s", len(cells), len(p.columns), strings.Join(p.columns, ", "))
	}
	values := map[string]float64{}
	for i, cell := range cells {
		cell = strings.TrimSpace(cell)
		if cell == "" {
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("%s is %q, which is not a number", p.columns[i], cell)
		}
		values[p.columns[i]] = v
	}
	return values, nil
}

func check(values map[string]float64) error {
	_, bag := values["bag_pa"]
	_, vacuum := values["vacuum_pa"]
	switch {
	case len(values) == 0:
		return errors.New("no reading in it")
	case bag && vacuum:
		return errors.New("bag_pa and vacuum_pa: give the one that is measured")
	}
	return nil
}

func sample(t time.Time, values map[string]float64) sensor.Sample {
	s := sensor.Blank(t)
	if v, ok := values["vacuum_pa"]; ok {
		s = sensor.FromVacuum(t, v)
	}
	for name, q := range map[string]sensor.Quantity{
		"bag_pa": sensor.Bag, "glueline_c": sensor.GlueLine, "air_c": sensor.Air,
		"humidity_pct": sensor.Humidity,
	} {
		if v, ok := values[name]; ok {
			s = q.With(s, v)
		}
	}
	if v, ok := values["ambient_pa"]; ok {
		s = s.In(v)
	}
	return s
}

func shorten(line []byte) string {
	const most = 80
	if len(line) > most {
		return string(line[:most]) + "…"
	}
	return string(line)
}
