package export

import (
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
)

// axis maps values to the picture.
type axis struct{ from, to, low, high float64 }

func (a axis) at(v float64) float64 {
	return a.low + (v-a.from)/(a.to-a.from)*(a.high-a.low)
}

// panel is one field of the chart: time across, one quantity up.
type panel struct {
	top, height float64
	x, y        axis
	step        float64
	draw        func(pen, *panel)
}

func (p *panel) bottom() float64 { return p.top + p.height }

// scale chooses round values that hold low to high, in about so many steps.
func (p *panel) scale(low, high float64, steps int) {
	if math.IsNaN(low) || math.IsNaN(high) || high-low < 1e-9 {
		low, high = or(low, 0), or(low, 0)+1
	}
	p.step = roundStep((high - low) / float64(steps))
	p.y = axis{
		from: math.Floor(low/p.step+1e-9) * p.step, to: math.Ceil(high/p.step-1e-9) * p.step,
		low: p.bottom(), high: p.top,
	}
}

// roundStep is the next larger of 1, 2, 5 times a power of ten.
func roundStep(least float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= least*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// frame draws the scale and its lines.
func (p *panel) frame(b pen) {
	for n := 0; ; n++ {
		v := p.y.from + float64(n)*p.step
		if v > p.y.to+p.step/2 {
			return
		}
		y := p.y.at(v)
		class := "grid"
		if n == 0 {
			class = "base"
		}
		b.line(class, p.x.low, y, p.x.high, y)
		b.text(p.x.low-8, y+4, "tick", "end", strconv.FormatFloat(v, 'f', decimals(p.step), 64))
	}
}

func decimals(step float64) int {
	return max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}

// level draws a limit.
func (p *panel) level(b pen, class string, v float64) {
	y := p.y.at(v)
	b.line(class, p.x.low, y, p.x.high, y)
}

// point is where a row stands in the panel.
type point struct{ x, min, mean, max float64 }

// pieces turns rows into unbroken stretches: nothing is drawn across a hole.
func (p *panel) pieces(rows []record.Thin, of func(record.Thin) record.Extent) [][]point {
	var pieces [][]point
	var piece []point
	for i, row := range rows {
		e := of(row)
		if len(piece) > 0 && (math.IsNaN(e.Mean) || isGap(rows[i-1], row)) {
			pieces, piece = append(pieces, piece), nil
		}
		if math.IsNaN(e.Mean) {
			continue
		}
		piece = append(piece, point{
			x: p.x.at(float64(row.Mean.UnixMilli())), min: p.y.at(e.Min), mean: p.y.at(e.Mean), max: p.y.at(e.Max),
		})
	}
	if len(piece) > 0 {
		pieces = append(pieces, piece)
	}
	return pieces
}

// band draws the mean, and behind it what lies between lowest and highest.
func (p *panel) band(b pen, class string, rows []record.Thin, of func(record.Thin) record.Extent) {
	for _, piece := range p.pieces(rows, of) {
		outline := make([]dot, 0, 2*len(piece))
		for _, pt := range piece {
			outline = append(outline, dot{pt.x, pt.max})
		}
		for _, pt := range slices.Backward(piece) {
			outline = append(outline, dot{pt.x, pt.min})
		}
		b.area(class+"-band", outline)
	}
	p.line(b, class, rows, of)
}

// line draws the mean, and tells whether there was anything to draw.
func (p *panel) line(b pen, class string, rows []record.Thin, of func(record.Thin) record.Extent) bool {
	pieces := p.pieces(rows, of)
	for _, piece := range pieces {
		path := make([]dot, len(piece))
		for i, pt := range piece {
			path[i] = dot{pt.x, pt.mean}
		}
		b.path(class, path)
	}
	return len(pieces) > 0
}

// drawHoles shades what was not recorded.
func drawHoles(b pen, rows []record.Thin, p *panel) {
	for i := 1; i < len(rows); i++ {
		if !isGap(rows[i-1], rows[i]) {
			continue
		}
		from, to := p.x.at(ms(rows[i-1].Last)), p.x.at(ms(rows[i].First))
		if to-from < 1 {
			continue
		}
		b.rect("hole", from, p.top, to-from, p.height)
	}
}

// drawTimes draws the time axis in local time, and its lines through the panels.
func (t *told) drawTimes(b pen, x axis, begin, end time.Time, panels []*panel) {
	bottom := panels[len(panels)-1].bottom()
	dated := math.Inf(-1)
	for i, tick := range ticks(begin, end, t.d.Location) {
		px := x.at(ms(tick))
		for _, p := range panels {
			b.line("grid", px, p.top, px, p.bottom())
		}
		b.line("base", px, bottom, px, bottom+4)
		b.text(px, bottom+18, "tick", "middle", t.d.TimeOfDay(tick))
		local := tick.In(t.d.Location)
		midnight := local.Hour() == 0 && local.Minute() == 0
		if (i == 0 || midnight) && px-dated > 80 {
			b.text(px, bottom+35, "tick", "middle", local.Format("Mon 2 Jan"))
			dated = px
		}
	}
	b.text(chartWidth-edge, bottom+52, "small", "end", t.zone())
}

// ticks are round moments of the local clock within begin..end, at most twelve.
func ticks(begin, end time.Time, zone *time.Location) []time.Time {
	minutes := 0
	for _, minutes = range []int{1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720} {
		if end.Sub(begin) <= 12*time.Duration(minutes)*time.Minute {
			return ticksEvery(begin, end, zone, minutes)
		}
	}
	days := int(end.Sub(begin).Hours()/24/12) + 1
	return ticksEvery(begin, end, zone, days*24*60)
}

// ticksEvery counts on the local clock from local midnight, so that a change to
// or from summer time leaves the ticks on round hours.
func ticksEvery(begin, end time.Time, zone *time.Location, minutes int) []time.Time {
	var list []time.Time
	local := begin.In(zone)
	for n := 0; ; n++ {
		tick := time.Date(local.Year(), local.Month(), local.Day(), 0, n*minutes, 0, 0, zone)
		if tick.After(end) {
			return list
		}
		if !tick.Before(begin) && (len(list) == 0 || tick.After(list[len(list)-1])) {
			list = append(list, tick)
		}
	}
}
