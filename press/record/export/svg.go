package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// style names the picture in each rule, because record.html holds it in a page
// with a style of its own. It gives the picture its own ground, because a viewer
// that knows only one of light and dark would otherwise put dark lines on black.
const style = `
.chart .ground{fill:#fff}
.chart text{font-family:system-ui,-apple-system,"Segoe UI","Noto Sans",sans-serif;fill:#22303a}
.chart .title{font-size:17px;font-weight:600}
.chart .small,.chart .legend,.chart .tick,.chart .mark-label{font-size:11.5px}
.chart .small,.chart .tick{fill:#55656f}
.chart .grid{stroke:#e3e8eb;stroke-width:1}
.chart .base{stroke:#8b989f;stroke-width:1}
.chart .line{fill:none;stroke-linejoin:round;stroke-linecap:round}
.chart .vacuum{stroke:#0a6b70;stroke-width:1.9}
.chart .vacuum-band{fill:#0a6b70;fill-opacity:.22;stroke:none}
.chart .floor{stroke:#b4431c;stroke-width:1.6;stroke-dasharray:7 4}
.chart .glue{stroke:#9a6200;stroke-width:1.9}
.chart .air{stroke:#56759c;stroke-width:1.2}
.chart .minimum{stroke:#b4431c;stroke-width:1.3;stroke-dasharray:2 4}
.chart .progress{stroke:#3d6b1f;stroke-width:1.9}
.chart .progress-band{fill:#3d6b1f;fill-opacity:.2;stroke:none}
.chart .mark{stroke:#22303a;stroke-width:1;stroke-opacity:.55}
.chart .hole{fill:#8b989f;fill-opacity:.28}
@media screen and (prefers-color-scheme:dark){
.chart .ground{fill:#10171b}
.chart text{fill:#dce5ea}
.chart .small,.chart .tick{fill:#9fb0ba}
.chart .grid{stroke:#26323a}
.chart .base{stroke:#6d7d86}
.chart .vacuum{stroke:#56c8c6}
.chart .vacuum-band{fill:#56c8c6;fill-opacity:.26}
.chart .floor,.chart .minimum{stroke:#ff9468}
.chart .glue{stroke:#f0b94f}
.chart .air{stroke:#8fb0dc}
.chart .progress{stroke:#a5d16f}
.chart .progress-band{fill:#a5d16f;fill-opacity:.24}
.chart .mark{stroke:#dce5ea}
}
`

func openSVG(b *bytes.Buffer, width, height float64, title, description string) {
	fmt.Fprintf(b, `<svg class="chart" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %[1]s %[2]s" width="%[1]s" height="%[2]s" role="img">`+"\n",
		round(width), round(height))
	fmt.Fprintf(b, "<title>%s</title>\n<desc>%s</desc>\n<style>%s</style>\n", escape(title), escape(description), style)
	fmt.Fprintf(b, `<rect class="ground" width="%s" height="%s"/>`+"\n", round(width), round(height))
}

func svgText(b *bytes.Buffer, x, y float64, class, anchor, text string) {
	fmt.Fprintf(b, `<text class="%s" x="%s" y="%s"`, class, round(x), round(y))
	if anchor != "" {
		fmt.Fprintf(b, ` text-anchor="%s"`, anchor)
	}
	fmt.Fprintf(b, ">%s</text>\n", escape(text))
}

func svgLine(b *bytes.Buffer, class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`+"\n", class, round(x1), round(y1), round(x2), round(y2))
}

func svgMark(b *bytes.Buffer, x, y1, y2 float64, detail string) {
	fmt.Fprintf(b, `<line class="mark" x1="%[1]s" y1="%[2]s" x2="%[1]s" y2="%[3]s"><title>%[4]s</title></line>`+"\n",
		round(x), round(y1), round(y2), escape(detail))
}

// legend is a row that says which line is which.
type legend struct {
	b    *bytes.Buffer
	x, y float64
}

func newLegend(b *bytes.Buffer, y float64) *legend { return &legend{b: b, x: plotLeft, y: y} }

func (l *legend) line(class, text string) {
	svgLine(l.b, class, l.x, l.y-4, l.x+26, l.y-4)
	l.text(text)
}

func (l *legend) band(class, text string) {
	fmt.Fprintf(l.b, `<rect class="%s-band" x="%s" y="%s" width="26" height="10"/>`+"\n", class, round(l.x), round(l.y-9))
	l.text(text)
}

func (l *legend) text(text string) {
	svgText(l.b, l.x+32, l.y, "legend", "", text)
	l.x += 32 + float64(utf8.RuneCountInString(text))*charWidth + 18
}

// round writes a coordinate to a tenth of a pixel, without a trailing zero.
func round(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

func escape(s string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil { // a buffer takes everything
		return ""
	}
	return b.String()
}
