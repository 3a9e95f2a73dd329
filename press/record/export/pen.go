package export

import "unicode/utf8"

// pen is what the chart is drawn with: one writes SVG, one paints a PNG. A
// class names a look; see looks.
type pen interface {
	open(width, height float64, title, description string)
	// within keeps what path and area draw from then on inside a field.
	within(left, top, right, bottom float64)
	text(x, y float64, class, anchor, text string)
	line(class string, x1, y1, x2, y2 float64)
	mark(x, y1, y2 float64, detail string)
	rect(class string, x, y, width, height float64)
	path(class string, dots []dot)
	area(class string, dots []dot)
}

type dot struct{ x, y float64 }

// look is how things of one class are drawn. Colours are RRGGBB.
type look struct {
	class       string
	light, dark string
	fill        bool    // filled, not stroked
	opacity     float64 // 0: full
	width       float64
	dash        []float64
	size        float64 // of text
	bold        bool
}

// looks are the chart's own. Lines differ in dash and weight as well as in
// colour, for paper and for eyes that do not tell red from green.
func looks() []look {
	return []look{
		{class: "ground", fill: true, light: "ffffff", dark: "10171b"},
		{class: "title", fill: true, light: "22303a", dark: "dce5ea", size: 17, bold: true},
		{class: "legend", fill: true, light: "22303a", dark: "dce5ea", size: 11.5},
		{class: "mark-label", fill: true, light: "22303a", dark: "dce5ea", size: 11.5},
		{class: "small", fill: true, light: "55656f", dark: "9fb0ba", size: 11.5},
		{class: "tick", fill: true, light: "55656f", dark: "9fb0ba", size: 11.5},
		{class: "grid", light: "e3e8eb", dark: "26323a", width: 1},
		{class: "base", light: "8b989f", dark: "6d7d86", width: 1},
		{class: "vacuum", light: "0a6b70", dark: "56c8c6", width: 1.9},
		{class: "vacuum-band", fill: true, light: "0a6b70", dark: "56c8c6", opacity: 0.24},
		{class: "floor", light: "b4431c", dark: "ff9468", width: 1.6, dash: []float64{7, 4}},
		{class: "glue", light: "9a6200", dark: "f0b94f", width: 1.9},
		{class: "air", light: "56759c", dark: "8fb0dc", width: 1.2},
		{class: "minimum", light: "b4431c", dark: "ff9468", width: 1.3, dash: []float64{2, 4}},
		{class: "progress", light: "3d6b1f", dark: "a5d16f", width: 1.9},
		{class: "progress-band", fill: true, light: "3d6b1f", dark: "a5d16f", opacity: 0.22},
		{class: "mark", light: "22303a", dark: "dce5ea", width: 1, opacity: 0.55},
		{class: "hole", fill: true, light: "8b989f", dark: "8b989f", opacity: 0.28},
	}
}

// legend is a row that says which line is which.
type legend struct {
	b    pen
	x, y float64
}

func newLegend(b pen, y float64) *legend { return &legend{b: b, x: plotLeft, y: y} }

func (l *legend) line(class, text string) {
	l.b.line(class, l.x, l.y-4, l.x+26, l.y-4)
	l.text(text)
}

func (l *legend) band(class, text string) {
	l.b.rect(class+"-band", l.x, l.y-9, 26, 10)
	l.text(text)
}

func (l *legend) text(text string) {
	l.b.text(l.x+32, l.y, "legend", "", text)
	l.x += 32 + float64(utf8.RuneCountInString(text))*charWidth + 18
}
