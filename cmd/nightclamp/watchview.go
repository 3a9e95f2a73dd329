package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/guptarohit/asciigraph"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// liveView is what the live view knows.
type liveView struct {
	display units.Display
	order   []string // presses, as they were first heard of
	newest  map[string]press.Status
	courses map[string]*course
}

// course is the vacuum of a run so far.
type course struct {
	run    string
	times  []time.Time
	values []float64 // Pa
}

func newLiveView(d units.Display) *liveView {
	return &liveView{display: d, newest: map[string]press.Status{}, courses: map[string]*course{}}
}

// take keeps a status and reports whether its run is a new one, of which only
// the daemon knows how it has gone so far.
func (v *liveView) take(st press.Status) (unknown bool) {
	if _, known := v.newest[st.Press]; !known {
		v.order = append(v.order, st.Press)
	}
	v.newest[st.Press] = st
	c := v.courses[st.Press]
	if c == nil || c.run != st.Run {
		c = &course{run: st.Run}
		v.courses[st.Press], unknown = c, true
	}
	if st.VacuumPa.Known() {
		c.add(st.Time, float64(st.VacuumPa))
	}
	return unknown
}

// mostKept bounds what is kept of a run: more than any terminal has columns.
const mostKept = 4000

func (c *course) add(t time.Time, v float64) {
	if n := len(c.times); n > 0 && !t.After(c.times[n-1]) {
		return
	}
	if len(c.times) == mostKept { // every other one will do
		n := 0
		for i := 0; i < len(c.times); i += 2 {
			c.times[n], c.values[n] = c.times[i], c.values[i]
			n++
		}
		c.times, c.values = c.times[:n], c.values[:n]
	}
	c.times, c.values = append(c.times, t), append(c.values, v)
}

// seed puts what the daemon kept before what has been heard since.
func (v *liveView) seed(from press.Course) {
	c := v.courses[from.Press]
	if c == nil || c.run != from.Run {
		return
	}
	old := &course{run: c.run}
	for i, t := range from.Times {
		if from.VacuumPa[i].Known() {
			old.add(t, float64(from.VacuumPa[i]))
		}
	}
	for i, t := range c.times {
		old.add(t, c.values[i])
	}
	v.courses[from.Press] = old
}

// foremost is the press that needs somebody most.
func (v *liveView) foremost() press.Status {
	var st press.Status
	most := -1
	for _, name := range v.order {
		if t := trouble(v.newest[name]); t > most {
			st, most = v.newest[name], t
		}
	}
	return st
}

// lines is the screen, at most height lines of at most width columns.
func (v *liveView) lines(width, height int, quiet time.Duration) []string {
	var out []string
	if len(v.order) == 0 {
		out = append(out, "Waiting for nightclamp.")
	}
	if quiet >= quietFrom {
		out = append(out, split(fmt.Sprintf("NO WORD from nightclamp for %s. What is below may no longer be so.", v.display.Span(quiet.Round(time.Second))), width)...)
	}
	if len(v.order) == 0 {
		return out
	}
	st := v.foremost()
	if len(v.order) > 1 {
		for _, name := range v.order {
			out = append(out, v.brief(v.newest[name], name == st.Press))
		}
		out = append(out, "")
	}
	out = append(out, fmt.Sprintf("%s · %s · %s", st.Press, st.Stage, v.display.Clock(st.Time, st.Time)))
	out = append(out, split(st.Sentence, width)...)
	var numbers strings.Builder
	writeNumbers(&numbers, st, v.display)
	out = append(out, strings.Split(strings.TrimRight(numbers.String(), "\n"), "\n")...)
	out = append(out, v.chart(st, width, height-len(out))...)
	for i := range out {
		if !strings.Contains(out[i], "\x1b") {
			out[i] = clip(out[i], width)
		}
	}
	return out[:min(len(out), height)]
}

func split(text string, width int) []string { return strings.Split(wrap(text, width), "\n") }

func clip(line string, width int) string {
	if r := []rune(line); len(r) > width {
		return string(r[:width])
	}
	return line
}

// brief is a press in one line.
func (v *liveView) brief(st press.Status, shown bool) string {
	mark := "  "
	if shown {
		mark = "> "
	}
	return fmt.Sprintf("%s%-12s %-9s %-10s %s", mark, st.Press, st.Stage, v.display.Pressure(float64(st.VacuumPa)), st.Sentence)
}

// leastChart is how many lines a picture of the vacuum needs to be one.
const leastChart = 5

// chart is the vacuum of the run so far, with the floor.
func (v *liveView) chart(st press.Status, width, height int) []string {
	c := v.courses[st.Press]
	if height < leastChart || c == nil || len(c.times) < 2 {
		return nil
	}
	const label = 10 // columns of the numbers on the left
	columns := width - label
	series := [][]float64{c.columns(columns, v.lowest(st), v.display)}
	caption := "vacuum"
	if st.FloorPa.Known() && st.FloorPa > 0 {
		floor, _ := v.display.PressureNumber(float64(st.FloorPa))
		series = append(series, repeat(floor, columns))
		caption += " and floor"
	}
	_, unit := v.display.PressureNumber(0)
	first, last := c.times[0], c.times[len(c.times)-1]
	caption = fmt.Sprintf("%s, %s, %s to %s", caption, unit, v.display.Clock(first, last), v.display.Clock(last, last))
	// The caption takes a line, and the lowest value one more than the height.
	drawn := asciigraph.PlotMany(series, asciigraph.Height(height-2), asciigraph.Width(columns), asciigraph.Precision(1),
		asciigraph.Caption(caption), asciigraph.SeriesColors(asciigraph.Default, asciigraph.Red))
	return strings.Split(drawn, "\n")
}

// lowest is the vacuum, Pa, from which the picture begins: while the bag holds,
// the way down would leave no room to see it leak.
func (v *liveView) lowest(st press.Status) float64 {
	if st.Stage != press.Hold {
		return math.Inf(-1)
	}
	return min(float64(st.FloorPa.Or(math.Inf(1))), float64(st.VacuumPa.Or(math.Inf(1)))) - 5e3
}

// columns are the means of equal stretches of time; one without a reading, or
// below lowest, has what the one before it had.
func (c *course) columns(n int, lowest float64, d units.Display) []float64 {
	first, span := c.times[0], c.times[len(c.times)-1].Sub(c.times[0])
	sums, counts := make([]float64, n), make([]int, n)
	for i, t := range c.times {
		if c.values[i] < lowest {
			continue
		}
		k := min(int(float64(n)*float64(t.Sub(first))/float64(span)), n-1)
		value, _ := d.PressureNumber(c.values[i])
		sums[k] += value
		counts[k]++
	}
	last := math.NaN()
	for k := range sums {
		if counts[k] > 0 {
			last = sums[k] / float64(counts[k])
		}
		sums[k] = last
	}
	return sums
}

func repeat(v float64, n int) []float64 {
	all := make([]float64, n)
	for i := range all {
		all[i] = v
	}
	return all
}
