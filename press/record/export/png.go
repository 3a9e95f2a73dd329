package export

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"strconv"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// pngScale is how many pixels of the PNG there are to one of the chart: enough
// for paper and for a fine screen.
const pngScale = 1.6

// painter is the pen that paints the light chart, for places that take no SVG.
type painter struct {
	img   *image.RGBA
	looks map[string]look
	faces map[string]font.Face
	field image.Rectangle
}

func (t *told) png() ([]byte, error) {
	p := &painter{looks: map[string]look{}, faces: map[string]font.Face{}}
	for _, l := range looks() {
		p.looks[l.class] = l
		if l.size == 0 {
			continue
		}
		letters, err := face(l)
		if err != nil {
			return nil, fmt.Errorf("chart.png: %w", err)
		}
		p.faces[l.class] = letters
	}
	t.chart(p)
	var b bytes.Buffer
	err := png.Encode(&b, p.img)
	return b.Bytes(), err
}

func face(l look) (font.Face, error) {
	text := goregular.TTF
	if l.bold {
		text = gobold.TTF
	}
	parsed, err := opentype.Parse(text)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(parsed, &opentype.FaceOptions{Size: l.size * pngScale, DPI: 72, Hinting: font.HintingNone})
}

func (l look) rgba() color.NRGBA {
	v, err := strconv.ParseUint(l.light, 16, 32)
	if err != nil { // the table of looks is tested
		v = 0
	}
	c := color.NRGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 255} //nolint:gosec // a colour is three bytes
	if l.opacity > 0 {
		c.A = uint8(math.Round(255 * l.opacity))
	}
	return c
}

func (p *painter) open(width, height float64, _, _ string) {
	p.img = image.NewRGBA(image.Rect(0, 0, int(width*pngScale), int(height*pngScale)))
	p.field = p.img.Bounds()
	draw.Draw(p.img, p.field, image.NewUniform(p.looks["ground"].rgba()), image.Point{}, draw.Src)
}

func (p *painter) within(left, top, right, bottom float64) {
	p.field = image.Rect(int(left*pngScale), int(top*pngScale), int(math.Ceil(right*pngScale)), int(math.Ceil(bottom*pngScale)))
}

func (p *painter) text(x, y float64, class, anchor, text string) {
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(p.looks[class].rgba()), Face: p.faces[class]}
	wide := float64(d.MeasureString(text)) / 64
	switch x *= pngScale; anchor {
	case "end":
		x -= wide
	case "middle":
		x -= wide / 2
	}
	d.Dot = fixed.Point26_6{X: fixed.Int26_6(x * 64), Y: fixed.Int26_6(y * pngScale * 64)}
	d.DrawString(text)
}

func (p *painter) line(class string, x1, y1, x2, y2 float64) {
	p.stroke(p.looks[class], []dot{{x1, y1}, {x2, y2}}, p.img.Bounds())
}

func (p *painter) mark(x, y1, y2 float64, _ string) { p.line("mark", x, y1, x, y2) }

func (p *painter) rect(class string, x, y, width, height float64) {
	p.fill(p.looks[class], [][]dot{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}}, p.img.Bounds())
}

func (p *painter) path(class string, dots []dot) { p.stroke(p.looks[class], dots, p.field) }
func (p *painter) area(class string, dots []dot) { p.fill(p.looks[class], [][]dot{dots}, p.field) }

// fill paints outlines, of the chart's measures, inside a field.
func (p *painter) fill(l look, outlines [][]dot, field image.Rectangle) {
	if field = field.Intersect(bounds(outlines)); field.Empty() {
		return
	}
	z := vector.NewRasterizer(field.Dx(), field.Dy())
	for _, outline := range outlines {
		for i, d := range outline {
			x, y := float32(d.x*pngScale)-float32(field.Min.X), float32(d.y*pngScale)-float32(field.Min.Y)
			if i == 0 {
				z.MoveTo(x, y)
			} else {
				z.LineTo(x, y)
			}
		}
		z.ClosePath()
	}
	z.DrawOp = draw.Over
	z.Draw(p.img, field, image.NewUniform(l.rgba()), image.Point{})
}

func bounds(outlines [][]dot) image.Rectangle {
	low, high := dot{math.Inf(1), math.Inf(1)}, dot{math.Inf(-1), math.Inf(-1)}
	for _, outline := range outlines {
		for _, d := range outline {
			low = dot{math.Min(low.x, d.x), math.Min(low.y, d.y)}
			high = dot{math.Max(high.x, d.x), math.Max(high.y, d.y)}
		}
	}
	return image.Rect(pixel(math.Floor(low.x*pngScale)), pixel(math.Floor(low.y*pngScale)),
		pixel(math.Ceil(high.x*pngScale)), pixel(math.Ceil(high.y*pngScale)))
}

// pixel keeps a coordinate far outside within an int.
func pixel(v float64) int { return int(math.Max(-1e6, math.Min(1e6, v))) }

// stroke paints a line as boxes around its pieces, which overlap at the bends.
// All boxes run the same way round, so that they add up where they overlap.
func (p *painter) stroke(l look, dots []dot, field image.Rectangle) {
	var boxes [][]dot
	for _, piece := range dashed(dots, l.dash) {
		for i := 1; i < len(piece); i++ {
			boxes = append(boxes, box(piece[i-1], piece[i], l.width/2))
		}
	}
	p.fill(l, boxes, field)
}

// box is a piece of line with half of its width to each side, and a little
// longer at both ends so that no bend shows a notch.
func box(a, b dot, half float64) []dot {
	length := math.Hypot(b.x-a.x, b.y-a.y)
	if length == 0 {
		return nil
	}
	ux, uy := (b.x-a.x)/length*half, (b.y-a.y)/length*half
	a, b = dot{a.x - ux*0.4, a.y - uy*0.4}, dot{b.x + ux*0.4, b.y + uy*0.4}
	return []dot{{a.x - uy, a.y + ux}, {b.x - uy, b.y + ux}, {b.x + uy, b.y - ux}, {a.x + uy, a.y - ux}}
}

// dashed cuts a line of two dots into dashes. The chart dashes no other.
func dashed(dots []dot, dash []float64) [][]dot {
	if len(dash) != 2 || len(dots) != 2 {
		return [][]dot{dots}
	}
	a, b := dots[0], dots[1]
	length := math.Hypot(b.x-a.x, b.y-a.y)
	at := func(s float64) dot { return dot{a.x + (b.x-a.x)*s/length, a.y + (b.y-a.y)*s/length} }
	var pieces [][]dot
	for s := 0.0; s < length; s += dash[0] + dash[1] {
		pieces = append(pieces, []dot{at(s), at(math.Min(length, s+dash[0]))})
	}
	return pieces
}
