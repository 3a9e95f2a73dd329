package export

import (
	"bytes"
	"fmt"
	"image"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Lengths on paper, mm, and sizes of letters, points. The paper is A4.
const (
	margin   = 18.0
	paper    = 210.0
	textSize = 9.5
	lineHigh = 4.6
	firstCol = 34.0
)

// sheetOfPaper writes record.pdf.
type sheetOfPaper struct {
	*fpdf.Fpdf
	width float64
}

// pdf writes the story, the chart and the tables on paper. Its date is the end of
// the run, so that the same run gives the same bytes. The writer of PDF panics at
// letters beyond its tables: plane keeps them from it, and whatever else it cannot
// take is an error that costs the paper alone.
func (t *told) pdf(chart []byte) (_ []byte, err error) {
	defer func() {
		if trouble := recover(); trouble != nil {
			err = fmt.Errorf("record.pdf: %v", trouble)
		}
	}()
	p := sheetOfPaper{fpdf.New("P", "mm", "A4", ""), paper - 2*margin}
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetCreationDate(t.end().UTC())
	p.SetModificationDate(t.end().UTC())
	p.SetCatalogSort(true)
	p.SetProducer("nightclamp", false)
	p.SetLang("en")
	page := t.page()
	p.SetTitle(plane(page.Title), true)
	p.SetMargins(margin, margin, margin)
	p.SetAutoPageBreak(true, margin)
	p.SetFooterFunc(func() {
		p.SetY(-margin + 4)
		p.SetFont("go", "", 7.5)
		p.SetTextColor(85, 101, 111)
		p.CellFormat(0, 4, plane(fmt.Sprintf("%s · %s · %d", t.run.ID, t.run.Press, p.PageNo())), "", 0, "R", false, 0, "")
	})
	p.AddPage()
	p.write(page, chart)
	var b bytes.Buffer
	if err = p.Output(&b); err != nil {
		err = fmt.Errorf("record.pdf: %w", err)
	}
	return b.Bytes(), err
}

func (p sheetOfPaper) write(page page, chart []byte) {
	p.say("B", 17, 8, page.Title)
	if page.Sentence != "" {
		p.Ln(1)
		p.say("", 11.5, 5.5, page.Sentence)
	}
	p.Ln(2)
	p.RegisterImageOptionsReader("chart", fpdf.ImageOptions{ImageType: "PNG"}, bytes.NewReader(chart))
	p.ImageOptions("chart", margin, p.GetY(), p.width, 0, true, fpdf.ImageOptions{ImageType: "PNG"}, 0, "")
	for _, paragraph := range page.Story {
		p.Ln(1.6)
		p.say("", textSize, lineHigh, paragraph)
	}
	p.heading("Asked and happened", true)
	for _, a := range page.Asked {
		p.row([]float64{firstCol, 52, 0}, a.What, a.Asked, a.Happened)
	}
	p.came(page.Came)
	p.heading("Events", len(page.Events) > 0)
	for _, e := range page.Events {
		p.row([]float64{firstCol, 0}, e.When, e.What)
	}
	p.heading("Alerts", len(page.Alerts) > 0)
	for _, a := range page.Alerts {
		p.row([]float64{firstCol, 14, 0}, a.When, a.HowLoud, a.What+" ("+a.Now+")")
	}
	p.heading("Adhesive", page.Adhesive != "")
	p.say("", textSize, lineHigh, page.Adhesive)
	for _, caution := range page.Cautions {
		p.say("", textSize, lineHigh, "! "+caution)
	}
	p.heading("Notes", page.Notes != "")
	p.say("", textSize, lineHigh, page.Notes)
	if _, high := p.GetPageSize(); p.GetY() > high-margin-16 {
		p.AddPage() // the last words stay together
	}
	p.Ln(4)
	p.say("", 8, 3.8, page.Foot)
}

func (p sheetOfPaper) came(c *came) {
	if c == nil {
		return
	}
	p.heading("What came out", true)
	widths := append([]float64{42}, make([]float64, len(c.Heads))...)
	for i := range c.Heads {
		widths[i+1] = (p.width - 42) / float64(len(c.Heads))
	}
	p.row(widths, append([]string{""}, c.Heads...)...)
	for _, r := range c.Rows {
		p.row(widths, append([]string{r.What}, r.Cells...)...)
	}
	for _, text := range c.Say {
		p.Ln(1.2)
		p.say("", textSize, lineHigh, text)
	}
	p.photos(c.Photos)
}

// photos puts the small pictures side by side, three to a row. One that cannot be
// read is named alone.
func (p sheetOfPaper) photos(list []shown) {
	const across, gap = 3, 4.0
	wide := (p.width - (across-1)*gap) / across
	column, top, bottom := 0, p.GetY()+2, p.GetY()
	for i, photo := range list {
		about, _, err := image.DecodeConfig(bytes.NewReader(photo.small))
		if err != nil {
			p.SetY(bottom)
			p.say("", textSize, lineHigh, "Photo "+photo.When+": "+photo.Name)
			column, top, bottom = 0, p.GetY()+2, p.GetY()
			continue
		}
		high := wide * float64(about.Height) / float64(about.Width)
		if _, page := p.GetPageSize(); column == 0 && top+high+lineHigh > page-margin {
			p.AddPage()
			top, bottom = p.GetY(), p.GetY()
		}
		name, options, x := fmt.Sprintf("photo-%d", i), fpdf.ImageOptions{ImageType: "JPG"}, margin+float64(column)*(wide+gap)
		p.RegisterImageOptionsReader(name, options, bytes.NewReader(photo.small))
		p.ImageOptions(name, x, top, wide, high, false, options, 0, "")
		p.SetXY(x, top+high)
		p.SetFont("go", "", 7.5)
		p.CellFormat(wide, lineHigh, plane(photo.Name+", "+photo.When), "", 0, "L", false, 0, "")
		bottom = max(bottom, top+high+lineHigh)
		if column++; column == across {
			column, top = 0, bottom+2
		}
	}
	p.SetXY(margin, bottom)
}

// say writes a paragraph; nothing when there is none.
func (p sheetOfPaper) say(style string, size, high float64, text string) {
	if text == "" {
		return
	}
	p.SetTextColor(34, 48, 58)
	p.SetFont("go", style, size)
	p.MultiCell(p.width, high, plane(text), "", "L", false)
}

// heading begins a part, and a page where the part would begin at its end.
func (p sheetOfPaper) heading(text string, some bool) {
	if !some {
		return
	}
	if _, high := p.GetPageSize(); p.GetY() > high-margin-24 {
		p.AddPage()
	}
	p.Ln(4)
	p.say("B", 11, 5.5, text)
	p.Ln(0.8)
}

// row writes the cells of a table side by side; the last width may be 0, the rest.
func (p sheetOfPaper) row(widths []float64, cells ...string) {
	p.SetFont("go", "", textSize)
	p.SetTextColor(34, 48, 58)
	p.SetDrawColor(217, 224, 228)
	most, left := 1, p.width
	lines := make([][]string, len(cells))
	for i, text := range cells {
		if widths[i] == 0 {
			widths[i] = left
		}
		left -= widths[i]
		lines[i] = p.SplitText(plane(text), widths[i]-3)
		most = max(most, len(lines[i]))
	}
	high := float64(most)*lineHigh + 1.6
	if _, page := p.GetPageSize(); p.GetY()+high > page-margin {
		p.AddPage()
	}
	x, y := margin, p.GetY()
	for i := range cells {
		for n, line := range lines[i] {
			p.SetXY(x, y+0.8+float64(n)*lineHigh)
			p.CellFormat(widths[i], lineHigh, line, "", 0, "L", false, 0, "")
		}
		x += widths[i]
	}
	p.Line(margin, y+high, margin+p.width, y+high)
	p.SetXY(margin, y+high)
}

// plane keeps to the first plane of Unicode, which is all that the writer knows.
func plane(text string) string {
	runes := []rune(text)
	for i, r := range runes {
		if r > 0xffff {
			runes[i] = '\ufffd'
		}
	}
	return string(runes)
}
