package export

import (
	"fmt"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// story tells the run in plain sentences, a paragraph a part of it.
func (t *told) story() []string {
	var paragraphs []string
	n := &narrator{told: t}
	for _, tell := range []func() []string{n.layup, n.hold, n.glue, n.ending} {
		if sentences := tell(); len(sentences) > 0 {
			paragraphs = append(paragraphs, strings.Join(sentences, " "))
		}
	}
	if len(paragraphs) == 0 {
		return []string{"Nothing was recorded of this run."}
	}
	return paragraphs
}

// narrator tells a run. It names the day once and then only the time.
type narrator struct {
	*told
	today string
}

// moment writes the time of day, and the day when it is another than before.
func (n *narrator) moment(when time.Time) string {
	day := when.In(n.d.Location).Format("Monday 2 January")
	if day == n.today {
		return n.clock(when)
	}
	n.today = day
	return n.clock(when) + " on " + day
}

func (n *narrator) layup() (say []string) {
	s := n.sum
	work := n.run.Work
	if work == "" {
		work = "the work"
	}
	if n.run.Plies > 0 {
		work += fmt.Sprintf(" (%d plies)", n.run.Plies)
	}
	switch {
	case !s.LayupAt.IsZero():
		say = append(say, fmt.Sprintf("At %s glue was spread for %s%s.", n.moment(s.LayupAt), work, n.glueName()))
	case !n.begin().IsZero():
		say = append(say, fmt.Sprintf("The record of %s%s begins at %s.", work, n.glueName(), n.moment(n.begin())))
	}
	if e, over := n.first(press.AssemblyOver); over {
		say = append(say, fmt.Sprintf("The assembly time ran out at %s, before there was vacuum.", n.moment(e.Time)))
	}
	if !s.PulldownAt.IsZero() {
		text := "The pump began to draw at " + n.moment(s.PulldownAt)
		if !s.LayupAt.IsZero() {
			text += ", " + n.d.Span(s.PulldownAt.Sub(s.LayupAt)) + " after that"
		}
		say = append(say, text+".")
	}
	return say
}

func (n *narrator) glueName() string {
	switch {
	case n.sheet != nil && n.sheet.Title != "":
		return ", with " + n.sheet.Title
	case n.run.Glue != "":
		return ", with " + n.run.Glue
	}
	return ""
}

func (n *narrator) hold() (say []string) {
	for _, e := range n.events {
		if text := n.turn(e); text != "" {
			say = append(say, text)
		}
	}
	if len(say) > 0 && n.sum.Leaks == 0 {
		say = append(say, "No leak was found.")
	}
	return say
}

// turn is the sentence for an event that turned the night, or nothing.
func (n *narrator) turn(e press.Event) string {
	switch e.Kind {
	case press.HoldStarted:
		return fmt.Sprintf("From %s the bag held by itself, at %s to begin with, above a floor of %s.",
			n.moment(e.Time), n.pressure(e.VacuumPa), n.d.Pressure(n.run.FloorPa))
	case press.Settled:
		return fmt.Sprintf("By %s the settling had died away, at %s.", n.moment(e.Time), n.pressure(e.VacuumPa))
	case press.LeakFound:
		text := fmt.Sprintf("A leak of %s was found at %s", n.d.Rate(float64(e.RatePaPerH)), n.moment(e.Time))
		if !e.Onset.IsZero() {
			text += "; it had begun at " + n.moment(e.Onset)
		}
		return text + "."
	case press.LeakEnded:
		return fmt.Sprintf("From %s there was no leak any more.", n.moment(e.Time))
	case press.ToppedUp:
		return fmt.Sprintf("At %s the vacuum was topped up from %s to %s.", n.moment(e.Time), n.pressure(e.FromPa), n.pressure(e.ToPa))
	case press.BelowFloor:
		return fmt.Sprintf("At %s the vacuum fell below the floor.", n.moment(e.Time))
	case press.AboveFloor:
		return fmt.Sprintf("At %s it was above the floor again.", n.moment(e.Time))
	case press.VacuumLost:
		return fmt.Sprintf("At %s the vacuum was lost.", n.moment(e.Time))
	case press.Gap:
		return fmt.Sprintf("Between %s and %s nothing was recorded, for %s.", n.moment(e.From), n.moment(e.To), n.d.Span(e.To.Sub(e.From)))
	}
	return ""
}

func (n *narrator) glue() (say []string) {
	s := n.sum
	if s.ColdestC.Known() {
		text := fmt.Sprintf("The glue line was between %s and %s, coldest at %s",
			n.d.Temperature(float64(s.ColdestC)), n.d.Temperature(float64(s.WarmestC)), n.at(s.ColdestAt))
		if n.sheet != nil {
			text += fmt.Sprintf("; this glue wants at least %s", n.d.Temperature(n.sheet.MinUseC))
		}
		say = append(say, text+".")
	}
	if !s.PressTimeAt.IsZero() {
		say = append(say, fmt.Sprintf("The press time was earned at %s.", n.moment(s.PressTimeAt)))
	}
	return say
}

func (n *narrator) ending() (say []string) {
	e, opened := n.first(press.Released)
	if !opened {
		if n.run.Ended.IsZero() && !n.begin().IsZero() {
			return []string{"The run is still open."}
		}
		return nil
	}
	text := "The bag was opened at " + n.moment(e.Time)
	if !n.sum.HoldAt.IsZero() {
		text += ", after a hold of " + n.d.Span(e.Time.Sub(n.sum.HoldAt))
	}
	outcome := verdict(e.Verdict)
	return append(say, text+".", strings.ToUpper(outcome[:1])+outcome[1:]+".")
}
