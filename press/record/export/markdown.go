package export

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

const disclaimer = "nightclamp is an aid to the builder and no safety device. It has not seen the joint: " +
	"the adhesive's own datasheet and a squeeze-out coupon from the same bag decide, not this record."

// markdown writes record.md.
func (t *told) markdown() []byte {
	var b bytes.Buffer
	t.frontMatter(&b)
	fmt.Fprintf(&b, "\n# %s\n", prose(t.title()))
	if t.final != nil && t.final.Sentence != "" {
		fmt.Fprintf(&b, "\n> %s\n", prose(t.final.Sentence))
	}
	fmt.Fprintf(&b, "\n![Vacuum, floor, temperatures and events of the run](chart.svg)\n")
	fmt.Fprintf(&b, "\n%s\n", strings.Join(t.story(), "\n\n"))
	t.askedAndHappened(&b)
	t.eventTable(&b)
	t.alertTable(&b)
	t.adhesive(&b)
	if t.run.Notes != "" {
		fmt.Fprintf(&b, "\n## Notes\n\n%s\n", prose(t.run.Notes))
	}
	fmt.Fprintf(&b, "\n---\n\nTimes are %s. %s\n", t.zone(), disclaimer)
	return b.Bytes()
}

func (t *told) title() string {
	if t.run.Work != "" {
		return strings.ToUpper(t.run.Work[:1]) + t.run.Work[1:]
	}
	return "Run " + t.run.ID
}

// zone names the zone of the clock times, or both when it changed.
func (t *told) zone() string {
	if t.d.Location == time.UTC {
		return "UTC"
	}
	text := "local time, " + t.offset(t.begin())
	if t.shifts {
		text += ", later " + t.offset(t.end())
	}
	return text
}

func (t *told) offset(when time.Time) string {
	local := when.In(t.d.Location)
	offset := "UTC" + local.Format("-07:00")
	if name := local.Format("MST"); name[0] >= 'A' { // not every zone has a name of letters
		return name + " (" + offset + ")"
	}
	return offset
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
	field("floor_pa", decimal(known(t.run.FloorPa)))
	field("lowest_vacuum_pa", decimal(t.sum.LowestVacuumPa))
	field("coldest_glueline_c", decimal(t.sum.ColdestC))
	field("progress", decimal(t.sum.Progress))
	field("clamped_progress", decimal(t.sum.Clamped))
	field("tags", "[nightclamp, press-record]")
	b.WriteString("---\n")
}

func decimal(n press.Num) string {
	if !n.Known() {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'f', -1, 64)
}

func (t *told) askedAndHappened(b *bytes.Buffer) {
	b.WriteString("\n## Asked and happened\n\n| | asked | happened |\n| --- | --- | --- |\n")
	row := func(what, asked, happened string) {
		fmt.Fprintf(b, "| %s | %s | %s |\n", what, cell(asked), cell(happened))
	}
	s := t.sum
	if limit := t.assemblyLimit(); !s.LayupAt.IsZero() {
		asked := "–"
		if !limit.IsZero() {
			asked = "under vacuum by " + t.at(limit)
		}
		row("Assembly", asked, "spread "+t.at(s.LayupAt)+", under vacuum "+t.at(s.HoldAt))
	}
	row("Vacuum", "at least "+t.d.Pressure(t.run.FloorPa), t.vacuumHappened())
	minimum := "–"
	if t.sheet != nil {
		minimum = "at least " + t.d.Temperature(t.sheet.MinUseC)
	}
	row("Glue line", minimum, t.glueHappened())
	earned := "–"
	if s.Progress.Known() {
		earned = percent(s.Progress) + " earned, " + percent(s.Clamped) + " of it under clamp"
	}
	if !s.PressTimeAt.IsZero() {
		earned += ", reached " + t.at(s.PressTimeAt)
	}
	row("Press time", "100 % under clamp", earned)
	row("Bag", "tight", t.bagHappened())
	if s.Gaps > 0 {
		row("Record", "without a gap", fmt.Sprintf("%s, %s in all", plural(s.Gaps, "gap"), t.span(s.GapS)))
	}
}

func (t *told) assemblyLimit() time.Time {
	if e, ok := t.first(press.LayupStarted); ok {
		return e.ClosedLimit
	}
	return time.Time{}
}

func (t *told) vacuumHappened() string {
	s := t.sum
	if !s.LowestVacuumPa.Known() {
		return "not read"
	}
	text := fmt.Sprintf("lowest %s (%s), mean %s", t.pressure(s.LowestVacuumPa), t.at(s.LowestVacuumAt), t.pressure(s.MeanVacuumPa))
	switch {
	case s.BelowFloorS.Or(0) > 0:
		text += ", " + t.span(s.BelowFloorS) + " below the floor"
	case s.LowestVacuumPa.Or(0) < t.run.FloorPa:
		text += ", below the floor for moments only"
	case s.AboveFloorS.Or(0) > 0:
		text += ", never below the floor"
	}
	return text
}

func (t *told) glueHappened() string {
	s := t.sum
	if !s.ColdestC.Known() {
		return "not read"
	}
	return fmt.Sprintf("coldest %s (%s), mean %s, warmest %s", t.d.Temperature(float64(s.ColdestC)), t.at(s.ColdestAt),
		t.d.Temperature(float64(s.MeanC)), t.d.Temperature(float64(s.WarmestC)))
}

func (t *told) bagHappened() string {
	s := t.sum
	if s.Leaks == 0 && s.TopUps == 0 {
		return "no leak found, never topped up"
	}
	text := "no leak found"
	if s.Leaks > 0 {
		text = fmt.Sprintf("%s, worst %s", plural(s.Leaks, "leak"), t.d.Rate(float64(s.WorstLeakPaH)))
	}
	if s.TopUps > 0 {
		text += ", " + plural(s.TopUps, "top-up")
	}
	return text
}

func (t *told) eventTable(b *bytes.Buffer) {
	if len(t.events) == 0 {
		return
	}
	b.WriteString("\n## Events\n\n| when | what |\n| --- | --- |\n")
	for _, e := range t.events {
		fmt.Fprintf(b, "| %s | %s |\n", t.at(e.Time), cell(t.event(e)))
	}
}

func (t *told) alertTable(b *bytes.Buffer) {
	if len(t.alerts) == 0 {
		return
	}
	b.WriteString("\n## Alerts\n\n| raised | how loud | what | now |\n| --- | --- | --- | --- |\n")
	for _, a := range t.alerts {
		state := string(a.State)
		if a.At.After(a.RaisedAt) {
			state += " " + t.at(a.At)
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", t.at(a.RaisedAt), a.Severity, cell(a.Text), state)
	}
}

func (t *told) adhesive(b *bytes.Buffer) {
	switch {
	case t.run.Glue == "":
		return
	case t.sheet == nil:
		fmt.Fprintf(b, "\n## Adhesive\n\n%s. No readable datasheet was kept with this run.\n", prose(t.run.Glue))
		return
	}
	fmt.Fprintf(b, "\n## Adhesive\n\n%s (`%s`). The datasheet file as it was used is in record.json.\n", prose(t.sheet.Title), t.run.Glue)
	if len(t.sheet.Cautions) > 0 {
		b.WriteByte('\n')
	}
	for _, caution := range t.sheet.Cautions {
		fmt.Fprintf(b, "- %s\n", prose(caution))
	}
}

func plural(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// prose keeps what a builder wrote from being taken for markup.
func prose(s string) string {
	return strings.NewReplacer(
		"\r\n", "\n", `\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "#", `\#`, "<", "&lt;", "[", `\[`, "]", `\]`, "|", `\|`,
	).Replace(s)
}

// cell is prose on one line.
func cell(s string) string { return strings.Join(strings.Fields(prose(s)), " ") }
