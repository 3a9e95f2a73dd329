package export

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zone of the tests must be there everywhere
)

// No label may lie on another, and no mark's line may cross a label.
func TestLabelsDoNotOverlap(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4)) //nolint:gosec // the same marks every time
	x := axis{from: 0, to: 1000, low: plotLeft, high: 900}
	for range 500 {
		marks := make([]mark, random.IntN(40))
		at := 0.0
		for i := range marks {
			at = math.Min(1000, at+random.ExpFloat64()*20)
			marks[i] = mark{at: time.UnixMilli(int64(at)), label: "leak 2.1 kPa/h"[:1+random.IntN(14)], weight: 1 + random.IntN(9)}
		}
		if rows := placeMarks(marks, x); rows > maxRows {
			t.Fatalf("%d rows", rows)
		}
		for i, a := range marks {
			for _, b := range marks[i+1:] {
				if a.label == "" || b.label == "" || a.x+a.width() <= b.x {
					continue // to the left of it
				}
				if b.row <= a.row {
					t.Fatalf("%q at %.0f, row %d, runs into %q at %.0f, row %d", a.label, a.x, a.row, b.label, b.x, b.row)
				}
			}
		}
	}
}

// Helsinki set its clocks back from 04:00 to 03:00 on 25 October 2026 (the last
// Sunday of October, Directive 2000/84/EC).
func TestTicksKeepToTheLocalClock(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	begin := time.Date(2026, 10, 24, 20, 10, 0, 0, zone)
	list := ticks(begin, begin.Add(17*time.Hour), zone)
	want := []string{"22:00", "00:00", "02:00", "04:00", "06:00", "08:00", "10:00", "12:00"}
	if len(list) != len(want) {
		t.Fatalf("%d ticks: %v", len(list), list)
	}
	for i, tick := range list {
		if got := tick.In(zone).Format("15:04"); got != want[i] {
			t.Errorf("tick %d at %s, want %s", i, got, want[i])
		}
	}
	if d := list[3].Sub(list[2]); d != 3*time.Hour {
		t.Errorf("from 02:00 to 04:00 it is %v, want 3 h in the night the clocks go back", d)
	}
	for _, length := range []time.Duration{time.Minute, time.Hour, 30 * time.Hour, 40 * 24 * time.Hour, 900 * 24 * time.Hour} {
		if n := len(ticks(begin, begin.Add(length), zone)); n < 1 || n > 14 {
			t.Errorf("%d ticks in %v", n, length)
		}
	}
}

func TestColoursAreColours(t *testing.T) {
	for _, l := range looks() {
		for _, c := range []string{l.light, l.dark} {
			if _, err := strconv.ParseUint(c, 16, 32); err != nil || len(c) != 6 {
				t.Errorf("%s: colour %q", l.class, c)
			}
		}
	}
}

// Text and lines stand out from the ground as WCAG 2.2 asks: 4.5 to 1 for text
// (1.4.3), 3 to 1 for what a graphic is made of (1.4.11), on white and on black.
func TestContrast(t *testing.T) {
	grounds := looks()[0]
	for _, l := range looks()[1:] {
		least := 3.0
		switch {
		case l.size > 0:
			least = 4.5
		case l.class == "grid" || l.class == "base" || l.class == "hole" || strings.HasSuffix(l.class, "-band"):
			continue // help for the eye, nothing that must be read
		}
		for _, pair := range [][2]string{{l.light, grounds.light}, {l.dark, grounds.dark}} {
			if c := contrast(pair[0], pair[1]); c < least {
				t.Errorf("%s: #%s on #%s has a contrast of %.1f, wanted %.1f", l.class, pair[0], pair[1], c, least)
			}
		}
	}
}

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b string) float64 {
	luminance := func(hex string) float64 {
		v, _ := strconv.ParseUint(hex, 16, 32)
		sum := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			c := float64(v>>(16-8*i)&0xff) / 255
			if c <= 0.04045 {
				sum += weight * c / 12.92
			} else {
				sum += weight * math.Pow((c+0.055)/1.055, 2.4)
			}
		}
		return sum
	}
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestRoundScales(t *testing.T) {
	for _, c := range []struct{ low, high, from, to, step float64 }{
		{0, 84, 0, 100, 20}, {8, 18.3, 8, 20, 2}, {-2, 2, -2, 2, 1}, {5, 5, 5, 6, 0.2}, {math.NaN(), math.NaN(), 0, 1, 0.2},
	} {
		p := panel{height: 100}
		p.scale(c.low, c.high, 6)
		if math.Abs(p.y.from-c.from) > 1e-9 || math.Abs(p.y.to-c.to) > 1e-9 || math.Abs(p.step-c.step) > 1e-9 {
			t.Errorf("%v to %v: %v to %v by %v", c.low, c.high, p.y.from, p.y.to, p.step)
		}
	}
}
