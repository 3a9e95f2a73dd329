package csvfile

import (
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

func readAll(t *testing.T, text string, options ...Option) (*Reader, []sensor.Sample, error) {
	t.Helper()
	r, err := NewReader(strings.NewReader(text), "night.csv", options...)
	if err != nil {
		return nil, nil, err
	}
	var all []sensor.Sample
	for {
		s, err := r.Next()
		if errors.Is(err, io.EOF) {
			return r, all, nil
		}
		if err != nil {
			return r, all, err
		}
		all = append(all, s)
	}
}

// same compares two samples in which NaN is a value like any other.
func same(a, b sensor.Sample) bool {
	equal := func(x, y float64) bool { return x == y || (math.IsNaN(x) && math.IsNaN(y)) }
	return a.Time.Equal(b.Time) && a.Quality == b.Quality &&
		equal(a.Bag, b.Bag) && equal(a.Ambient, b.Ambient) && equal(a.GlueLine, b.GlueLine) && equal(a.Air, b.Air)
}

func TestRead(t *testing.T) {
	night := time.Date(2026, 10, 16, 17, 40, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		text string
		kind TimeKind
		want sensor.Sample // the last one
	}{
		"all columns in another order": {
			"air_c,glueline_c,ambient_pa,bag_pa,time\n12.5,13,101200,16000.5,2026-10-16T17:40:00Z\n", RFC3339,
			sensor.Sample{Time: night, Bag: 16000.5, Ambient: 101200, GlueLine: 13, Air: 12.5},
		},
		"a zone": {
			"time,bag_pa,ambient_pa\n2026-10-16T19:40:00+02:00,1,2\n", RFC3339,
			sensor.Sample{Time: night, Bag: 1, Ambient: 2, GlueLine: sensor.Missing, Air: sensor.Missing},
		},
		"seconds, no barometer": {
			"time,bag_pa\n0,16000\n-0.25,3\n", Unknown, sensor.Sample{},
		},
		"fractions of a second": {
			"time,bag_pa\n0,16000\n10.125,16001\n", Seconds,
			sensor.Sample{Time: Origin().Add(10125 * time.Millisecond), Bag: 16001, Ambient: 101325, GlueLine: sensor.Missing, Air: sensor.Missing, Quality: sensor.AmbientAssumed},
		},
		"missing readings": {
			"time,bag_pa,ambient_pa,glueline_c\n0,,101325,\n", Seconds,
			sensor.Sample{Time: Origin(), Bag: sensor.Missing, Ambient: 101325, GlueLine: sensor.Missing, Air: sensor.Missing},
		},
		"gauge": {
			"time,vacuum_pa,ambient_pa\n0,84000,100000\n", Seconds,
			sensor.Sample{Time: Origin(), Bag: 16000, Ambient: 100000, GlueLine: sensor.Missing, Air: sensor.Missing, Quality: sensor.Gauge},
		},
		"gauge alone": {
			"time,vacuum_pa\n0,84000\n", Seconds,
			sensor.Sample{Time: Origin(), Bag: 17325, Ambient: 101325, GlueLine: sensor.Missing, Air: sensor.Missing, Quality: sensor.Gauge | sensor.AmbientAssumed},
		},
		"gauge whose barometer falls silent": {
			"time,vacuum_pa,ambient_pa\n0,84000,100000\n1,84000,\n", Seconds,
			sensor.Sample{Time: Origin().Add(time.Second), Bag: 16000, Ambient: 100000, GlueLine: sensor.Missing, Air: sensor.Missing, Quality: sensor.Gauge | sensor.AmbientAssumed},
		},
		"BOM, CRLF, quotes, blanks, an empty line, no last line end": {
			"\xef\xbb\xbf\"time\", bag_pa ,\"ambient_pa\"\r\n0,1,2\r\n\r\n\"1\", 3 ,\"4\"", Seconds,
			sensor.Sample{Time: Origin().Add(time.Second), Bag: 3, Ambient: 4, GlueLine: sensor.Missing, Air: sensor.Missing},
		},
		"the same time twice": {
			"time,bag_pa,ambient_pa\n5,1,2\n5,3,4\n", Seconds,
			sensor.Sample{Time: Origin().Add(5 * time.Second), Bag: 3, Ambient: 4, GlueLine: sensor.Missing, Air: sensor.Missing},
		},
	} {
		t.Run(name, func(t *testing.T) {
			r, all, err := readAll(t, c.text)
			if c.kind == Unknown {
				if err == nil {
					t.Fatal("time went back and nobody said so")
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := all[len(all)-1]; !same(got, c.want) || r.TimeKind() != c.kind {
				t.Errorf("got %+v (time kind %d)\nwant %+v (%d)", got, r.TimeKind(), c.want, c.kind)
			}
		})
	}
}

func TestStation(t *testing.T) {
	_, all, err := readAll(t, "time,vacuum_pa\n0,80000\n", Station(95461))
	if err != nil || all[0].Bag != 15461 || all[0].Ambient != 95461 {
		t.Errorf("got %+v, %v", all, err)
	}
}

// What a press record exports can be read again: its means.
func TestSamplesOfARecord(t *testing.T) {
	text := "time,first,last,samples,quality,boot,mono_s,bag_min_pa,bag_mean_pa,bag_max_pa,ambient_min_pa,ambient_mean_pa,ambient_max_pa," +
		"vacuum_min_pa,vacuum_mean_pa,vacuum_max_pa,air_min_c,air_mean_c,air_max_c\n" +
		"2026-10-16T17:40:05.000Z,2026-10-16T17:40:00.000Z,2026-10-16T17:40:10.000Z,100,0,,,15990.0,16000.5,16010.0,101190.0,101200.0,101210.0,85190.0,85199.5,85200.0,,,\n"
	r, err := NewReader(strings.NewReader(text), "samples.csv")
	if err != nil {
		t.Fatal(err)
	}
	s, err := r.Next()
	if err != nil || s.Bag != 16000.5 || s.Ambient != 101200 || s.Quality != 0 || s.Knows(sensor.Air) || s.Time.Second() != 5 {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `night.csv:1: the file is empty: begin it with a header; the known columns are time, bag_pa, vacuum_pa, ambient_pa, glueline_c, air_c, humidity_pct`},
		{"unknown column", "time,bag_kpa\n", `night.csv:1: "bag_kpa" is no column that can be read: the known columns are time, bag_pa, vacuum_pa, ambient_pa, glueline_c, air_c, humidity_pct`},
		{"semicolons", "time;bag_pa\n", `night.csv:1: "time;bag_pa" is not a list of columns: separate columns by commas and write decimals with a point`},
		{"twice", "time,bag_pa,time\n", `night.csv:1: column time: is there twice: leave one of them out`},
		{"both pressures", "time,bag_pa,vacuum_pa\n", `night.csv:1: column vacuum_pa: is there besides bag_pa: keep the one that was measured`},
		{"no pressure", "time,air_c\n", `night.csv:1: column bag_pa: is missing: give bag_pa (absolute) or vacuum_pa (room minus bag)`},
		{"no time", "bag_pa\n", `night.csv:1: column time: is missing: the known columns are time, bag_pa, vacuum_pa, ambient_pa, glueline_c, air_c, humidity_pct`},
		{"UTF-16", "\xff\xfet\x00i\x00", `night.csv:1: the file is UTF-16: save it as UTF-8`},
		{"time back", "time,bag_pa\n2,1\n1,1\n", `night.csv:3: column time: "1" is before the time of the row above: sort the rows by time`},
		{"time mixed", "time,bag_pa\n2,1\n2026-10-16T17:40:00Z,1\n", `night.csv:3: column time: "2026-10-16T17:40:00Z" is of another kind than the times before: use RFC 3339 or seconds throughout`},
		{"time mixed the other way", "time,bag_pa\n2026-10-16T17:40:00Z,1\n2,1\n", `night.csv:3: column time: "2" is of another kind than the times before: use RFC 3339 or seconds throughout`},
		{"no zone", "time,bag_pa\n2026-10-16 17:40:00,1\n", `night.csv:2: column time: "2026-10-16 17:40:00" is not a time: write RFC 3339 with its zone, as 2026-10-16T19:40:00Z, or seconds as a decimal number`},
		{"time not finite", "time,bag_pa\nNaN,1\n", `night.csv:2: column time: "NaN" is not a time: write RFC 3339 with its zone, as 2026-10-16T19:40:00Z, or seconds as a decimal number`},
		{"no time in a row", "time,bag_pa\n,1\n", `night.csv:2: column time: is not a time: write RFC 3339 with its zone, as 2026-10-16T19:40:00Z, or seconds as a decimal number`},
		{"bad number", "time,bag_pa\n0,16kPa\n", `night.csv:2: column bag_pa: "16kPa" is not a number: write a decimal number with a point, or leave the cell empty`},
		{"not finite", "time,bag_pa\n0,inf\n", `night.csv:2: column bag_pa: "inf" is not a number: write a decimal number with a point, or leave the cell empty`},
		{"decimal comma", "time,bag_pa\n0,16000,5\n", `night.csv:2: "0,16000,5" has 3 cells where the header names 2 columns: write decimals with a point, not a comma`},
		{"short row", "time,bag_pa,air_c\n0,16000\n1,2,3\n", `night.csv:2: "0,16000" has 2 cells where the header names 3 columns: give every row a cell for each column`},
		{"cut off", "time,bag_pa,air_c\n0,16000,12\n1,160", `night.csv:3: "1,160" has 2 cells where the header names 3 columns: the last line seems to be cut off; copy the file again or remove the line`},
		{"cut off in a number", "time,bag_pa,air_c\n0,16000,12\n1,16000,-", `night.csv:3: column air_c: "-" is not a number: the last line seems to be cut off; copy the file again or remove the line`},
		{"no lines", "time,bag_pa\n" + strings.Repeat("0", 1<<17), `night.csv:2: the line is longer than 4096 bytes: is this a text file with one row a line?`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := readAll(t, c.text)
			if err == nil {
				t.Fatal("no error")
			}
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("error %T is not an *Error", err)
			}
			if err.Error() != c.want {
				t.Errorf("got  %s\nwant %s", err, c.want)
			}
		})
	}
}

// An error ends the reading; it is not skipped by asking again.
func TestErrorStays(t *testing.T) {
	r, err := NewReader(strings.NewReader("time,bag_pa\nx,1\n2,3\n"), "night.csv")
	if err != nil {
		t.Fatal(err)
	}
	_, first := r.Next()
	_, second := r.Next()
	if first == nil || !errors.Is(second, first) || r.Line() != 2 {
		t.Errorf("got %v, then %v, at line %d", first, second, r.Line())
	}
}

func TestReaderUnderneath(t *testing.T) {
	text := "time,bag_pa\n" + strings.Repeat("1,16000\n", 20000)
	for name, in := range map[string]io.Reader{
		"byte by byte":     iotest.OneByteReader(strings.NewReader(text)),
		"halves":           iotest.HalfReader(strings.NewReader(text)),
		"end with data":    iotest.DataErrReader(strings.NewReader(text)),
		"plain":            strings.NewReader(text),
		"breaks halfway":   io.MultiReader(strings.NewReader(text[:100]), iotest.ErrReader(errors.New("disk is gone"))),
		"never gets ahead": io.MultiReader(strings.NewReader(text[:100]), stuckReader{}),
	} {
		t.Run(name, func(t *testing.T) {
			r, err := NewReader(in, "night.csv")
			if err != nil {
				t.Fatal(err)
			}
			rows := 0
			for {
				_, err = r.Next()
				if err != nil {
					break
				}
				rows++
			}
			switch name {
			case "breaks halfway":
				if !strings.Contains(err.Error(), "reading night.csv at line 13: disk is gone") {
					t.Errorf("error %v does not tell the place", err)
				}
			case "never gets ahead":
				if !errors.Is(err, io.ErrNoProgress) {
					t.Errorf("error %v", err)
				}
			default:
				if rows != 20000 || !errors.Is(err, io.EOF) {
					t.Errorf("%d rows, %v", rows, err)
				}
			}
		})
	}
}

type stuckReader struct{}

func (stuckReader) Read([]byte) (int, error) { return 0, nil }

func TestNextAllocatesNothing(t *testing.T) {
	r, err := NewReader(strings.NewReader("time,bag_pa,ambient_pa,glueline_c\n"+strings.Repeat("12.5,16000.25,101325,13.0625\n", 2000)), "night.csv")
	if err != nil {
		t.Fatal(err)
	}
	if n := testing.AllocsPerRun(1000, func() {
		if _, err := r.Next(); err != nil {
			t.Fatal(err)
		}
	}); n > 0 {
		t.Errorf("%v allocations a row", n)
	}
}

// Fill reads what Next reads, and stops where it stops.
func TestFill(t *testing.T) {
	for _, text := range []string{
		"time,bag_pa\n0,16000\n1,16001\n2,16002\n", "time,bag_pa\n0,16000\n1,x\n2,16002\n", "time,bag_pa\n",
	} {
		one, _ := NewReader(strings.NewReader(text), "one")
		many, _ := NewReader(strings.NewReader(text), "one")
		into := make([]sensor.Sample, 2)
		for {
			n, err := many.Fill(into)
			for _, s := range into[:n] {
				if want, wrong := one.Next(); wrong != nil || s.Bag != want.Bag || !s.Time.Equal(want.Time) {
					t.Errorf("%q: got %v, want %v (%v)", text, s, want, wrong)
				}
			}
			if err == nil {
				continue
			}
			if _, want := one.Next(); n == len(into) || want == nil || want.Error() != err.Error() {
				t.Errorf("%q: %d samples and %v, want %v", text, n, err, want)
			}
			break
		}
	}
}
