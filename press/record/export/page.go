package export

import (
	"fmt"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

const disclaimer = "nightclamp is an aid to the builder and no safety device. It has not seen the joint: " +
	"the adhesive's own datasheet and a squeeze-out coupon from the same bag decide, not this record."

// page is what record.md and record.html say, in plain words.
type page struct {
	Title    string
	Sentence string // the last one of the run; empty: none was kept
	Story    []string
	Asked    []asked
	Came     *came // nil: nobody measured anything
	Events   []row
	Alerts   []raised
	Adhesive string // what was known of it; empty: none was set
	Cautions []string
	Notes    string
	Foot     string
}

type (
	asked  struct{ What, Asked, Happened string }
	row    struct{ When, What string }
	raised struct{ When, HowLoud, What, Now string }
)

func (t *told) page() page {
	p := page{
		Title: t.title(), Story: t.story(), Asked: t.asked(), Came: t.cameOut(), Notes: t.run.Notes,
		Foot: "Times are " + t.zone() + ". " + disclaimer,
	}
	if t.final != nil {
		p.Sentence = t.final.Sentence
	}
	for _, e := range t.events {
		p.Events = append(p.Events, row{t.at(e.Time), t.event(e)})
	}
	for _, a := range t.alerts {
		now := string(a.State)
		if a.At.After(a.RaisedAt) {
			now += " " + t.at(a.At)
		}
		p.Alerts = append(p.Alerts, raised{t.at(a.RaisedAt), string(a.Severity), a.Text, now})
	}
	switch {
	case t.run.Glue == "":
	case t.sheet == nil:
		p.Adhesive = t.run.Glue + ". No readable datasheet was kept with this run."
	default:
		p.Adhesive = fmt.Sprintf("%s (%s). The datasheet file as it was used is in record.json.", t.sheet.Title, t.run.Glue)
		p.Cautions = t.sheet.Cautions
	}
	return p
}

func (t *told) asked() []asked {
	s := t.sum
	var rows []asked
	add := func(what, wanted, happened string) { rows = append(rows, asked{what, wanted, happened}) }
	if limit := t.assemblyLimit(); !s.LayupAt.IsZero() {
		wanted := "–"
		if !limit.IsZero() {
			wanted = "under vacuum by " + t.at(limit)
		}
		add("Assembly", wanted, "spread "+t.at(s.LayupAt)+", under vacuum "+t.at(s.HoldAt))
	}
	add("Vacuum", "at least "+t.d.Pressure(t.run.FloorPa), t.vacuumHappened())
	minimum := "–"
	if t.sheet != nil {
		minimum = "at least " + t.d.Temperature(t.sheet.MinUseC)
	}
	add("Glue line", minimum, t.glueHappened())
	earned := "–"
	if s.Progress.Known() {
		earned = percent(s.Progress) + " earned, " + percent(s.Clamped) + " under clamp"
	}
	if !s.PressTimeAt.IsZero() {
		earned += ", reached " + t.at(s.PressTimeAt)
	}
	add("Press time", "100 % under clamp", earned)
	add("Bag", "tight", t.bagHappened())
	if s.Gaps > 0 {
		add("Record", "without a gap", fmt.Sprintf("%s, %s in all", plural(s.Gaps, "gap"), t.span(s.GapS)))
	}
	return rows
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

func plural(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
