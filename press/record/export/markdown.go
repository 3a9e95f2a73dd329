package export

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// markdown writes record.md.
func (t *told) markdown() []byte {
	p := t.page()
	var b bytes.Buffer
	t.frontMatter(&b)
	fmt.Fprintf(&b, "\n# %s\n", prose(p.Title))
	if p.Sentence != "" {
		fmt.Fprintf(&b, "\n> %s\n", prose(p.Sentence))
	}
	fmt.Fprintf(&b, "\n![Vacuum, floor, temperatures and events of the run](chart.svg)\n")
	for _, paragraph := range p.Story {
		fmt.Fprintf(&b, "\n%s\n", prose(paragraph))
	}
	p.tables(&b)
	if p.Adhesive != "" {
		fmt.Fprintf(&b, "\n## Adhesive\n\n%s\n", prose(p.Adhesive))
	}
	if len(p.Cautions) > 0 {
		b.WriteByte('\n')
	}
	for _, caution := range p.Cautions {
		fmt.Fprintf(&b, "- %s\n", cell(caution))
	}
	if p.Notes != "" {
		fmt.Fprintf(&b, "\n## Notes\n\n%s\n", prose(p.Notes))
	}
	fmt.Fprintf(&b, "\n---\n\n%s\n", p.Foot)
	return b.Bytes()
}

func (p *page) tables(b *bytes.Buffer) {
	b.WriteString("\n## Asked and happened\n\n| | asked | happened |\n| --- | --- | --- |\n")
	for _, a := range p.Asked {
		fmt.Fprintf(b, "| %s | %s | %s |\n", a.What, cell(a.Asked), cell(a.Happened))
	}
	p.Came.tables(b)
	if len(p.Events) > 0 {
		b.WriteString("\n## Events\n\n| when | what |\n| --- | --- |\n")
	}
	for _, e := range p.Events {
		fmt.Fprintf(b, "| %s | %s |\n", e.When, cell(e.What))
	}
	if len(p.Alerts) > 0 {
		b.WriteString("\n## Alerts\n\n| raised | how loud | what | now |\n| --- | --- | --- | --- |\n")
	}
	for _, a := range p.Alerts {
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", a.When, a.HowLoud, cell(a.What), a.Now)
	}
}

// tables writes what came out of the bag.
func (c *came) tables(b *bytes.Buffer) {
	if c == nil {
		return
	}
	fmt.Fprintf(b, "\n## What came out\n\n| | %s |\n| ---%s |\n", strings.Join(c.Heads, " | "), strings.Repeat(" | ---", len(c.Heads)))
	for _, r := range c.Rows {
		cells := make([]string, len(r.Cells))
		for i, text := range r.Cells {
			cells[i] = cell(text)
		}
		fmt.Fprintf(b, "| %s | %s |\n", r.What, strings.Join(cells, " | "))
	}
	for _, text := range c.Say {
		fmt.Fprintf(b, "\n%s\n", prose(text))
	}
	for _, p := range c.Photos {
		if p.File == "" {
			fmt.Fprintf(b, "\nA photo, %s, is not beside the record any more: %s. Its small picture is in record.html.\n", p.When, cell(p.Name))
			continue
		}
		fmt.Fprintf(b, "\n![%s, %s](%s)\n", cell(p.Name), p.When, p.File)
	}
}

// frontMatter is YAML: every value that a builder wrote is quoted.
func (t *told) frontMatter(b *bytes.Buffer) {
	field := func(name, value string) {
		if value != "" {
			fmt.Fprintf(b, "%s: %s\n", name, value)
		}
	}
	moment := func(when time.Time) string {
		if when.IsZero() {
			return ""
		}
		return when.In(t.d.Location).Format(time.RFC3339)
	}
	b.WriteString("---\n")
	field("title", strconv.Quote(t.title()))
	if begin := t.begin(); !begin.IsZero() {
		field("date", begin.In(t.d.Location).Format("2006-01-02"))
	}
	field("run", strconv.Quote(t.run.ID))
	field("site", strconv.Quote(t.run.Site))
	field("press", strconv.Quote(t.run.Press))
	field("glue", strconv.Quote(t.run.Glue))
	field("started", moment(t.run.Started))
	field("ended", moment(t.run.Ended))
	field("verdict", string(t.run.Verdict))
	field("floor_pa", decimal(press.Num(t.run.FloorPa)))
	field("lowest_vacuum_pa", decimal(t.sum.LowestVacuumPa))
	field("coldest_glueline_c", decimal(t.sum.ColdestC))
	field("progress", decimal(t.sum.Progress))
	field("clamped_progress", decimal(t.sum.Clamped))
	for _, bend := range t.bends {
		field("springback_"+way(bend.Across), decimal(bend.Latest().Expected))
	}
	field("tags", "[nightclamp, press-record]")
	b.WriteString("---\n")
}

func decimal(n press.Num) string {
	if !n.Known() {
		return ""
	}
	text, err := n.MarshalJSON()
	if err != nil { // a number is always written
		return ""
	}
	return string(text)
}

// prose keeps what a builder wrote from being taken for markup.
func prose(s string) string {
	return strings.NewReplacer(
		"\r\n", "\n", `\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "#", `\#`, "<", "&lt;", "[", `\[`, "]", `\]`, "|", `\|`,
	).Replace(s)
}

// cell is prose on one line.
func cell(s string) string { return strings.Join(strings.Fields(prose(s)), " ") }
