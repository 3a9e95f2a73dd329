package export

import (
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
)

// The chart's measures, in its own units: pixels at its natural size.
const (
	chartWidth     = 1000.0
	plotLeft       = 58.0
	edge           = 16.0 // what stays free at the right
	titleY         = 26.0
	legendY        = 48.0
	labelTop       = 72.0
	labelHeight    = 15.0
	vacuumHeight   = 250.0
	warmthHeight   = 120.0
	progressHeight = 80.0
	between        = 40.0
	axisHeight     = 64.0
)

// chart draws the run with the pen.
func (t *told) chart(b pen) {
	begin, end := t.chartSpan()
	marks := t.marks()
	x := axis{from: ms(begin), to: ms(end), low: plotLeft, high: rightOf(marks, ms(begin), ms(end))}
	rows := placeMarks(marks, x)
	next := labelTop + float64(rows)*labelHeight + 10
	var panels []*panel
	add := func(height float64, draw func(pen, *panel)) {
		panels = append(panels, &panel{top: next, height: height, x: x, draw: draw})
		next += height + between
	}
	add(vacuumHeight, t.drawVacuum)
	if t.hasWarmth() {
		add(warmthHeight, t.drawWarmth)
	}
	if len(t.progress) > 0 {
		add(progressHeight, t.drawProgress)
	}
	bottom := panels[len(panels)-1].bottom()

	b.open(chartWidth, bottom+axisHeight, t.title(), t.chartDescription())
	b.text(plotLeft, titleY, "title", "", t.title())
	b.text(chartWidth-edge, titleY, "small", "end", t.subtitle())
	t.drawTimes(b, x, begin, end, panels)
	for _, p := range panels {
		b.within(p.x.low, p.top-1, p.x.high, p.bottom()+1)
		p.draw(b, p)
		drawHoles(b, t.points, p)
	}
	drawMarks(b, marks, panels)
}

func ms(t time.Time) float64 { return float64(t.UnixMilli()) }

// chartSpan is what the time axis covers: never nothing.
func (t *told) chartSpan() (time.Time, time.Time) {
	begin, end := t.begin(), t.end()
	if end.Sub(begin) < time.Minute {
		end = begin.Add(time.Minute)
	}
	return begin, end
}

func (t *told) subtitle() string {
	text := t.day(t.begin())
	if t.run.Glue != "" {
		text += " · " + t.run.Glue
	}
	if t.run.Press != "" {
		text += " · " + t.run.Press
	}
	return text
}

// chartDescription is for those who cannot see the picture.
func (t *told) chartDescription() string {
	return fmt.Sprintf("Vacuum over time: %s. Glue line: %s. Bag: %s.", t.vacuumHappened(), t.glueHappened(), t.bagHappened())
}

// drawVacuum shows what matters of the vacuum: from somewhat below the floor,
// or below the lowest of the hold. The pull-down comes up from under the edge.
func (t *told) drawVacuum(b pen, p *panel) {
	unit := func(pa float64) float64 { v, _ := t.d.PressureNumber(pa); return v }
	_, name := t.d.PressureNumber(0)
	high := t.run.FloorPa
	for _, row := range t.points {
		high = larger(high, row.Vacuum.Max)
	}
	high = larger(high, 1000)
	low := smaller(t.run.FloorPa, float64(t.sum.LowestVacuumPa)) - 0.1*high
	if !t.sum.LowestVacuumPa.Known() || low < 0 {
		low = 0
	}
	p.scale(unit(low), unit(high*1.02), 6)
	p.frame(b)
	p.band(b, "vacuum", t.points, func(r record.Thin) record.Extent { return convert(r.Vacuum, unit) })
	legend := newLegend(b, legendY)
	legend.line("vacuum", "vacuum, "+name)
	legend.band("vacuum", "lowest to highest")
	if !math.IsNaN(t.run.FloorPa) {
		p.level(b, "floor", unit(t.run.FloorPa))
		legend.line("floor", "floor "+t.d.Pressure(t.run.FloorPa))
	}
}

// drawProgress shows the share of the press time earned under clamp, with its
// bounds.
func (t *told) drawProgress(b pen, p *panel) {
	p.scale(0, 100, 2)
	p.frame(b)
	p.band(b, "progress", t.progress, func(r record.Thin) record.Extent { return r.Vacuum })
	legend := newLegend(b, p.top-10)
	legend.line("progress", "press time earned under clamp, %")
	legend.band("progress", "bounds")
}

func (t *told) hasWarmth() bool {
	for _, row := range t.points {
		if !math.IsNaN(row.GlueLine.Mean) || !math.IsNaN(row.Air.Mean) {
			return true
		}
	}
	return false
}

func (t *told) drawWarmth(b pen, p *panel) {
	unit := func(c float64) float64 { v, _ := t.d.TemperatureNumber(c); return v }
	_, name := t.d.TemperatureNumber(0)
	low, high := math.NaN(), math.NaN()
	for _, row := range t.points {
		for _, e := range []record.Extent{row.GlueLine, row.Air} {
			low, high = smaller(low, unit(e.Mean)), larger(high, unit(e.Mean))
		}
	}
	if t.sheet != nil {
		low, high = smaller(low, unit(t.sheet.MinUseC)), larger(high, unit(t.sheet.MinUseC))
	}
	p.scale(low-0.5, high+0.5, 4)
	p.frame(b)
	if t.sheet != nil {
		p.level(b, "minimum", unit(t.sheet.MinUseC))
	}
	air := p.line(b, "air", t.points, func(r record.Thin) record.Extent { return convert(r.Air, unit) })
	glue := p.line(b, "glue", t.points, func(r record.Thin) record.Extent { return convert(r.GlueLine, unit) })
	legend := newLegend(b, p.top-10)
	if glue {
		legend.line("glue", "glue line, "+name)
	}
	if air {
		legend.line("air", "air, "+name)
	}
	if t.sheet != nil {
		legend.line("minimum", "minimum "+t.d.Temperature(t.sheet.MinUseC))
	}
}

func convert(e record.Extent, unit func(float64) float64) record.Extent {
	return record.Extent{Min: unit(e.Min), Mean: unit(e.Mean), Max: unit(e.Max)}
}

func or(v, other float64) float64 {
	if math.IsNaN(v) {
		return other
	}
	return v
}

func larger(a, b float64) float64  { return math.Max(or(a, b), or(b, a)) }
func smaller(a, b float64) float64 { return math.Min(or(a, b), or(b, a)) }
