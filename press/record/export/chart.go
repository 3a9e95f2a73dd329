package export

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
)

// The chart's measures, in its own units: pixels at its natural size.
const (
	chartWidth   = 1000.0
	plotLeft     = 58.0
	plotRight    = 880.0 // what is to the right of it is for labels
	titleY       = 26.0
	legendY      = 48.0
	labelTop     = 72.0
	labelHeight  = 15.0
	vacuumHeight = 270.0
	warmthHeight = 130.0
	between      = 46.0
	axisHeight   = 50.0
)

// chart draws the run.
func (t *told) chart() []byte {
	var b bytes.Buffer
	begin, end := t.chartSpan()
	x := axis{from: float64(begin.UnixMilli()), to: float64(end.UnixMilli()), low: plotLeft, high: plotRight}
	marks, rows := placeMarks(t.marks(), func(at time.Time) float64 { return x.at(float64(at.UnixMilli())) })
	vacuum := panel{top: labelTop + float64(rows)*labelHeight + 10, height: vacuumHeight, x: x}
	warmth := panel{top: vacuum.bottom() + between, height: warmthHeight, x: x}
	warmthShown := t.hasWarmth()
	bottom := vacuum.bottom()
	if warmthShown {
		bottom = warmth.bottom()
	}
	openSVG(&b, chartWidth, bottom+axisHeight, t.title(), t.chartDescription())
	svgText(&b, plotLeft, titleY, "title", "", t.title())
	svgText(&b, chartWidth-16, titleY, "small", "end", t.subtitle())
	t.drawVacuum(&b, &vacuum)
	if warmthShown {
		t.drawWarmth(&b, &warmth)
	}
	drawHoles(&b, t.points, x, vacuum.top, bottom)
	t.drawTimes(&b, x, begin, end, vacuum.top, bottom)
	drawMarks(&b, marks, bottom)
	b.WriteString("</svg>\n")
	return b.Bytes()
}

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
	return fmt.Sprintf("Vacuum over time: %s. Glue line: %s. %s.", t.vacuumHappened(), t.glueHappened(), t.bagHappened())
}

func (t *told) drawVacuum(b *bytes.Buffer, p *panel) {
	unit := func(pa float64) float64 { v, _ := t.d.PressureNumber(pa); return v }
	_, name := t.d.PressureNumber(0)
	top := unit(t.run.FloorPa)
	low := 0.0
	for _, row := range t.points {
		top = larger(top, unit(row.Vacuum.Max))
		low = math.Min(low, or(unit(row.Vacuum.Min), 0))
	}
	p.scale(low, larger(top, unit(1000))*1.02, 6)
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

func (t *told) hasWarmth() bool {
	for _, row := range t.points {
		if !math.IsNaN(row.GlueLine.Mean) || !math.IsNaN(row.Air.Mean) {
			return true
		}
	}
	return false
}

func (t *told) drawWarmth(b *bytes.Buffer, p *panel) {
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
