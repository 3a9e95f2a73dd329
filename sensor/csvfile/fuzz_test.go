package csvfile

import (
	"encoding/csv"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"
)

// FuzzReader holds the reader against encoding/csv: whatever it takes from an
// input without quotes must be what the standard library sees there.
func FuzzReader(f *testing.F) {
	for _, seed := range []string{
		"time,bag_pa\n0,16000\n1.5,\n",
		"time,vacuum_pa,ambient_pa,air_c,glueline_c\r\n2026-10-16T17:40:00Z,84000,100000,12,13\r\n",
		"\xef\xbb\xbftime,bag_pa\n0,1",
		"bag_pa,time\n1,0\n\n2,1\n",
		"time,bag_pa\n0,1e400\n", "time,bag_pa\n0,1\n0", "time;bag_pa\n", "time,bag_pa\n-1,0x1p-2\n", "",
		"time,bag_pa\n2026-10-16T17:40:00Z,1\n2026-10-16T17:40:00.25Z,-.5\n2026-10-16T17:40:59.123456789Z,5.\n",
		"time,bag_pa\n1760643600.123,1\n1760643600.125,-0\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := NewReader(strings.NewReader(text), "fuzz")
		if err != nil {
			return
		}
		checkAgainst(t, r, reference(text))
	})
}

// reference returns the rows of a text as encoding/csv reads them, or nil
// where the two formats differ on purpose.
func reference(text string) *csv.Reader {
	if strings.ContainsAny(text, "\"") || strings.Contains(strings.ReplaceAll(text, "\r\n", "\n"), "\r") {
		return nil
	}
	c := csv.NewReader(strings.NewReader(text))
	c.FieldsPerRecord = -1
	if _, err := c.Read(); err != nil {
		return nil
	}
	return c
}

func checkAgainst(t *testing.T, r *Reader, want *csv.Reader) {
	t.Helper()
	var last int64 = math.MinInt64
	for {
		s, err := r.Next()
		if err != nil {
			if !errors.Is(err, io.EOF) {
				var e *Error
				if !errors.As(err, &e) || e.Line < 2 {
					t.Fatalf("error without a place: %v", err)
				}
			}
			return
		}
		if now := s.Time.UnixNano(); r.TimeKind() == Seconds {
			if now < last {
				t.Fatal("time went back")
			}
			last = now
		}
		if want == nil {
			continue
		}
		record, err := want.Read()
		if err != nil {
			t.Fatalf("a row that encoding/csv does not see: %v", err)
		}
		for i, c := range r.layout {
			cell := strings.TrimSpace(record[i])
			v, _ := strconv.ParseFloat(cell, 64)
			if c == colTime {
				checkTime(t, r, s.Time, cell, v)
			}
			got := map[column]float64{colAmbient: s.Ambient, colGlueline: s.GlueLine, colAir: s.Air, colHumidity: s.Humidity, colBag: s.Bag}
			have, compared := got[c]
			if cell == "" || !compared || (c == colAmbient && r.gauge) {
				continue
			}
			if have != v {
				t.Fatalf("column %s: got %v, encoding/csv has %q", names[c], have, cell)
			}
		}
	}
}

func checkTime(t *testing.T, r *Reader, got time.Time, cell string, seconds float64) {
	t.Helper()
	if r.TimeKind() == Seconds {
		if math.Abs(float64(got.UnixNano())/1e9-seconds) > 1e-9+1e-15*math.Abs(seconds) {
			t.Fatalf("time: got %v s, want %q", float64(got.UnixNano())/1e9, cell)
		}
		return
	}
	if want, err := time.Parse(time.RFC3339, cell); err != nil || !got.Equal(want) {
		t.Fatalf("time: got %v, want %q (%v)", got, cell, err)
	}
}
