package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
)

// svg is the pen that writes SVG.
type svg struct {
	b      bytes.Buffer
	fields int
}

func (t *told) svg() []byte {
	s := &svg{}
	t.chart(s)
	s.b.WriteString("</svg>\n")
	return s.b.Bytes()
}

// style names the picture in each rule, because record.html holds it in a page
// with a style of its own. The picture has a ground of its own, because a
// viewer that knows only one of light and dark would otherwise put dark lines
// on black. On paper it is light.
func style() string {
	var b strings.Builder
	b.WriteString("\n" + `.chart text{font-family:system-ui,-apple-system,"Segoe UI","Noto Sans",sans-serif}` + "\n")
	for _, l := range looks() {
		fmt.Fprintf(&b, ".chart .%s{%s%s}\n", l.class, l.colour(l.light), l.shape())
	}
	b.WriteString("@media screen and (prefers-color-scheme:dark){\n")
	for _, l := range looks() {
		if l.dark != l.light {
			fmt.Fprintf(&b, ".chart .%s{%s}\n", l.class, l.colour(l.dark))
		}
	}
	b.WriteString("}\n")
	return b.String()
}

func (l look) colour(c string) string {
	if l.fill {
		return "fill:#" + c
	}
	return "fill:none;stroke:#" + c
}

func (l look) shape() string {
	var b strings.Builder
	add := func(format string, v any) { fmt.Fprintf(&b, format, v) }
	switch {
	case l.fill && l.opacity > 0:
		add(";fill-opacity:%g", l.opacity)
	case l.opacity > 0:
		add(";stroke-opacity:%g", l.opacity)
	}
	if l.width > 0 {
		add(";stroke-width:%g;stroke-linejoin:round", l.width)
	}
	if len(l.dash) > 0 {
		add(";stroke-dasharray:%s", strings.Trim(fmt.Sprint(l.dash), "[]"))
	}
	if l.size > 0 {
		add(";font-size:%gpx", l.size)
	}
	if l.bold {
		add("%s", ";font-weight:600")
	}
	return b.String()
}

func (s *svg) open(width, height float64, title, description string) {
	fmt.Fprintf(&s.b, `<svg class="chart" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %[1]s %[2]s" width="%[1]s" height="%[2]s" role="img">`+"\n",
		round(width), round(height))
	fmt.Fprintf(&s.b, "<title>%s</title>\n<desc>%s</desc>\n<style>%s</style>\n", escape(title), escape(description), style())
	s.rect("ground", 0, 0, width, height)
}

func (s *svg) within(left, top, right, bottom float64) {
	s.fields++
	fmt.Fprintf(&s.b, `<clipPath id="field%d"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath>`+"\n",
		s.fields, round(left), round(top), round(right-left), round(bottom-top))
}

func (s *svg) text(x, y float64, class, anchor, text string) {
	fmt.Fprintf(&s.b, `<text class="%s" x="%s" y="%s"`, class, round(x), round(y))
	if anchor != "" {
		fmt.Fprintf(&s.b, ` text-anchor="%s"`, anchor)
	}
	fmt.Fprintf(&s.b, ">%s</text>\n", escape(text))
}

func (s *svg) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&s.b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`+"\n", class, round(x1), round(y1), round(x2), round(y2))
}

func (s *svg) mark(x, y1, y2 float64, detail string) {
	fmt.Fprintf(&s.b, `<line class="mark" x1="%[1]s" y1="%[2]s" x2="%[1]s" y2="%[3]s"><title>%[4]s</title></line>`+"\n",
		round(x), round(y1), round(y2), escape(detail))
}

func (s *svg) rect(class string, x, y, width, height float64) {
	fmt.Fprintf(&s.b, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`+"\n", class, round(x), round(y), round(width), round(height))
}

func (s *svg) path(class string, dots []dot) { s.dots(class, dots, "") }
func (s *svg) area(class string, dots []dot) { s.dots(class, dots, "Z") }

func (s *svg) dots(class string, dots []dot, end string) {
	fmt.Fprintf(&s.b, `<path class="%s" clip-path="url(#field%d)" d="`, class, s.fields)
	for i, d := range dots {
		move := "L"
		if i == 0 {
			move = "M"
		}
		fmt.Fprintf(&s.b, "%s%s,%s", move, round(d.x), round(d.y))
	}
	fmt.Fprintf(&s.b, "%s\"/>\n", end)
}

// round writes a coordinate to a tenth of a pixel, without a trailing zero.
func round(v float64) string {
	text := strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
	if text == "-0" {
		return "0"
	}
	return text
}

func escape(s string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil { // a buffer takes everything
		return ""
	}
	return b.String()
}
