package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// TimeKind is how a file tells the time.
type TimeKind int

// The kinds of time. It is unknown until the first row was read.
const (
	Unknown TimeKind = iota
	Seconds
	RFC3339
)

// Origin is the moment from which times in seconds are counted.
func Origin() time.Time { return time.Unix(0, 0).UTC() }

// Option changes how a file is read.
type Option func(*Reader)

// Station gives the pressure of the room, Pa, for a file that has no
// ambient_pa.
func Station(pa float64) Option { return func(r *Reader) { r.station = pa } }

// Reader reads samples from a series.
type Reader struct {
	name    string
	lines   *lines
	line    int // number of the line read last
	layout  []column
	station float64

	gauge, barometer bool
	kind             TimeKind
	last             time.Time
	minute           minute
	room             float64 // the barometer's last reading, Pa; NaN before
	err              error   // what ended the reading
}

// NewReader reads the header from in. The name stands in errors.
func NewReader(in io.Reader, name string, options ...Option) (*Reader, error) {
	r := &Reader{name: name, lines: newLines(in), station: sensor.StandardAtmosphere, room: sensor.Missing}
	for _, o := range options {
		o(r)
	}
	err := r.readHeader()
	if errors.Is(err, io.EOF) {
		return nil, &Error{File: name, Line: 1, Problem: "the file is empty", Remedy: "begin it with a header; " + known()}
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

// TimeKind tells how the file gives times; [Unknown] before the first row.
func (r *Reader) TimeKind() TimeKind { return r.kind }

// Line is the number of the line that was read last, from 1.
func (r *Reader) Line() int { return r.line }

// Next returns the next sample, or [io.EOF] after the last. An error is an
// [*Error], or that of the reader underneath; it ends the reading.
func (r *Reader) Next() (sensor.Sample, error) {
	if r.err != nil {
		return sensor.Sample{}, r.err
	}
	var s sensor.Sample
	if r.err = r.read(&s); r.err != nil {
		return sensor.Sample{}, r.err
	}
	return s, nil
}

// Fill reads samples into the slice and returns how many. When they are fewer it
// says why, as [Reader.Next] does.
func (r *Reader) Fill(into []sensor.Sample) (int, error) {
	for i := range into {
		if r.err != nil {
			return i, r.err
		}
		into[i] = sensor.Sample{}
		if r.err = r.read(&into[i]); r.err != nil {
			return i, r.err
		}
	}
	return len(into), nil
}

func (r *Reader) read(s *sensor.Sample) error {
	line, err := r.nextLine()
	for err == nil && len(line) == 0 {
		line, err = r.nextLine()
	}
	if err != nil {
		return err
	}
	no := math.NaN()
	row := [columns + 1]float64{no, no, no, no, no, no, no}
	rest := line
	for i, c := range r.layout {
		digits, behind, n, plain := scan(rest)
		if !plain {
			n = bytes.IndexByte(rest, ',')
			if n < 0 {
				n = len(rest)
			}
		}
		cell := rest[:n]
		if final := i == len(r.layout)-1; (n == len(rest)) != final {
			return r.miscounted(line)
		} else if !final {
			rest = rest[n+1:]
		}
		switch {
		case c == colSkip:
		case c != colTime && plain:
			row[c] = float64(digits) / powers[behind] // both exact, so that this rounds once
		case c != colTime:
			row[c], err = r.number(c, trim(cell))
		case plain && r.kind == Seconds && behind <= 9 && r.goesOn(digits, behind):
			s.Time = r.last
		default:
			s.Time, err = r.time(trim(cell))
		}
		if err != nil {
			return err
		}
	}
	r.pressures(s, &row)
	s.GlueLine, s.Air, s.Humidity = row[colGlueline], row[colAir], row[colHumidity]
	return nil
}

// pressures fills in the bag and the room, of which a file may know only the
// difference.
func (r *Reader) pressures(s *sensor.Sample, row *[columns + 1]float64) {
	s.Bag, s.Ambient = row[colBag], row[colAmbient]
	if !math.IsNaN(s.Ambient) {
		r.room = s.Ambient
	}
	if !r.barometer {
		s.Ambient = r.station
		s.Quality |= sensor.AmbientAssumed
	}
	if !r.gauge {
		return
	}
	if math.IsNaN(s.Ambient) {
		s.Ambient = r.room
		if math.IsNaN(s.Ambient) {
			s.Ambient = r.station
		}
		s.Quality |= sensor.AmbientAssumed
	}
	s.Quality |= sensor.Gauge
	s.Bag = s.Ambient - row[colVacuum]
}

func (r *Reader) number(c column, cell []byte) (float64, error) {
	if len(cell) == 0 {
		return sensor.Missing, nil
	}
	v, err := parseNumber(cell)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, r.fail(names[c], string(cell), "is not a number", r.cutOff("write a decimal number with a point, or leave the cell empty"))
	}
	return v, nil
}

// time reads the time of a row and keeps it from going back.
func (r *Reader) time(cell []byte) (time.Time, error) {
	t, kind, err := r.parseTime(cell)
	if err != nil {
		return t, r.fail("time", string(cell), "is not a time", r.cutOff("write RFC 3339 with its zone, as 2026-10-16T19:40:00Z, or seconds as a decimal number"))
	}
	if r.kind != Unknown && kind != r.kind {
		return t, r.fail("time", string(cell), "is of another kind than the times before", "use RFC 3339 or seconds throughout")
	}
	if t.Before(r.last) && r.kind != Unknown {
		return t, r.fail("time", string(cell), "is before the time of the row above", "sort the rows by time")
	}
	r.kind, r.last = kind, t
	return t, nil
}

// goesOn takes a time in seconds that is as late as the row before, or later.
func (r *Reader) goesOn(digits int64, behind int) bool {
	if math.Abs(float64(digits)) > 9e9*powers[behind] {
		return false
	}
	t := time.Unix(0, digits*int64(powers[9-behind])).UTC()
	if t.Before(r.last) {
		return false
	}
	r.last = t
	return true
}

var errNoTime = errors.New("neither seconds nor RFC 3339")

// parseTime reads seconds or RFC 3339.
func (r *Reader) parseTime(cell []byte) (time.Time, TimeKind, error) {
	if r.kind == RFC3339 {
		if t, ok := r.minute.parse(cell); ok {
			return t, RFC3339, nil
		}
	}
	if t, ok := parseSeconds(cell); ok {
		return t, Seconds, nil
	}
	t, err := time.Parse(time.RFC3339, string(cell))
	if err != nil {
		return t, Unknown, errNoTime
	}
	t = t.UTC()
	r.minute.remember(cell, t)
	return t, RFC3339, nil
}

// parseSeconds reads seconds from the start, to the nanosecond. 9e9 s is as
// far as a Duration reaches.
func parseSeconds(cell []byte) (time.Time, bool) {
	if digits, behind, ok := plain(cell); ok && behind <= 9 && math.Abs(float64(digits)) <= 9e9*powers[behind] {
		for ; behind < 9; behind++ {
			digits *= 10
		}
		return time.Unix(0, digits).UTC(), true
	}
	s, err := strconv.ParseFloat(string(cell), 64)
	if err != nil || !(s >= -9e9 && s <= 9e9) { // NaN is not in the range
		return time.Time{}, false
	}
	whole, part := math.Modf(s)
	return time.Unix(int64(whole), int64(math.Round(part*1e9))).UTC(), true
}

func (r *Reader) nextLine() ([]byte, error) {
	line, err := r.lines.next()
	r.line++
	switch {
	case errors.Is(err, errLongLine):
		return nil, r.fail("", "", fmt.Sprintf("the line is longer than %d bytes", longestLine), "is this a text file with one row a line?")
	case errors.Is(err, io.EOF):
		return nil, io.EOF
	case err != nil:
		return nil, fmt.Errorf("reading %s at line %d: %w", r.name, r.line, err)
	}
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, nil
}

func (r *Reader) miscounted(line []byte) error {
	found := bytes.Count(line, []byte{','}) + 1
	problem := fmt.Sprintf("has %d cells where the header names %d columns", found, len(r.layout))
	remedy := "give every row a cell for each column"
	if found > len(r.layout) {
		remedy = "write decimals with a point, not a comma"
	}
	return r.fail("", string(line), problem, r.cutOff(remedy))
}

// cutOff replaces the remedy on a last line that has no line end.
func (r *Reader) cutOff(remedy string) string {
	if r.lines.whole {
		return remedy
	}
	return "the last line seems to be cut off; copy the file again or remove the line"
}

func (r *Reader) fail(column, value, problem, remedy string) error {
	return &Error{File: r.name, Line: r.line, Column: column, Value: value, Problem: problem, Remedy: remedy}
}

// trim takes blanks and plain quotes off a cell.
func trim(cell []byte) []byte {
	if len(cell) == 0 || (cell[0] > '"' && cell[len(cell)-1] > '"') {
		return cell
	}
	return unquote(bytes.TrimSpace(cell))
}
