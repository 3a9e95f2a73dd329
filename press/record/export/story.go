package export

import (
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/press"
)

// story tells the run in plain sentences, a paragraph a part of it.
func (t *told) story() []string {
	var paragraphs []string
	for _, tell := range []func() []string{t.storyOfLayup, t.storyOfHold, t.storyOfGlue, t.storyOfEnd} {
		if sentences := tell(); len(sentences) > 0 {
			paragraphs = append(paragraphs, prose(strings.Join(sentences, " ")))
		}
	}
	if len(paragraphs) == 0 {
		return []string{"Nothing was recorded of this run."}
	}
	return paragraphs
}

func (t *told) storyOfLayup() (say []string) {
	s := t.sum
	work := t.run.Work
	if work == "" {
		work = "the work"
	}
	details := ""
	if t.run.Plies > 0 {
		details = fmt.Sprintf(" of %s", plural(t.run.Plies, "ply"))
		details = strings.Replace(details, "plys", "plies", 1)
	}
	switch {
	case !s.LayupAt.IsZero():
		say = append(say, fmt.Sprintf("On %s at %s glue was spread for %s%s%s.", t.day(s.LayupAt), t.d.TimeOfDay(s.LayupAt), work, details, t.glueName()))
	case !t.begin().IsZero():
		say = append(say, fmt.Sprintf("The record of %s%s%s begins on %s at %s.", work, details, t.glueName(), t.day(t.begin()), t.d.TimeOfDay(t.begin())))
	}
	if e, over := t.first(press.AssemblyOver); over {
		say = append(say, fmt.Sprintf("The assembly time ran out at %s, before there was vacuum.", t.at(e.Time)))
	}
	if !s.PulldownAt.IsZero() {
		text := "The pump began to draw at " + t.at(s.PulldownAt)
		if !s.LayupAt.IsZero() {
			text += ", " + t.d.Span(s.PulldownAt.Sub(s.LayupAt)) + " later"
		}
		say = append(say, text+".")
	}
	return say
}

func (t *told) glueName() string {
	switch {
	case t.sheet != nil && t.sheet.Title != "":
		return ", with " + lowerFirst(t.sheet.Title)
	case t.run.Glue != "":
		return ", with " + t.run.Glue
	}
	return ""
}

// lowerFirst leaves an abbreviation as it is.
func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

func (t *told) storyOfHold() (say []string) {
	s := t.sum
	if e, ok := t.first(press.HoldStarted); ok {
		say = append(say, fmt.Sprintf("From %s on the bag held by itself, at %s at first, above a floor of %s.",
			t.at(e.Time), t.pressure(e.VacuumPa), t.d.Pressure(t.run.FloorPa)))
	}
	if e, ok := t.first(press.Settled); ok {
		say = append(say, fmt.Sprintf("By %s the settling had died away, at %s.", t.at(e.Time), t.pressure(e.VacuumPa)))
	}
	for _, e := range t.events {
		if text := t.turn(e); text != "" {
			say = append(say, text)
		}
	}
	if len(say) > 0 && s.Leaks == 0 {
		say = append(say, "No leak was found.")
	}
	return say
}

// turn is the sentence for an event that turned the night, or nothing.
func (t *told) turn(e press.Event) string {
	switch e.Kind {
	case press.LeakFound:
		since := e.Onset
		if since.IsZero() {
			since = e.Time
		}
		return fmt.Sprintf("A leak of %s was found at %s; it had begun at %s.", t.d.Rate(float64(e.RatePaPerH)), t.at(e.Time), t.at(since))
	case press.LeakEnded:
		return fmt.Sprintf("At %s the leak was closed.", t.at(e.Time))
	case press.ToppedUp:
		return fmt.Sprintf("At %s the vacuum was topped up from %s to %s.", t.at(e.Time), t.pressure(e.FromPa), t.pressure(e.ToPa))
	case press.BelowFloor:
		return fmt.Sprintf("At %s the vacuum fell below the floor.", t.at(e.Time))
	case press.AboveFloor:
		return fmt.Sprintf("At %s it was above the floor again.", t.at(e.Time))
	case press.VacuumLost:
		return fmt.Sprintf("At %s the vacuum was lost.", t.at(e.Time))
	case press.Gap:
		return fmt.Sprintf("Between %s and %s nothing was recorded, for %s.", t.at(e.From), t.at(e.To), t.d.Span(e.To.Sub(e.From)))
	}
	return ""
}

func (t *told) storyOfGlue() (say []string) {
	s := t.sum
	if s.ColdestC.Known() {
		text := fmt.Sprintf("The glue line was between %s and %s, coldest at %s",
			t.d.Temperature(float64(s.ColdestC)), t.d.Temperature(float64(s.WarmestC)), t.at(s.ColdestAt))
		if t.sheet != nil {
			text += fmt.Sprintf("; its glue wants at least %s", t.d.Temperature(t.sheet.MinUseC))
		}
		say = append(say, text+".")
	}
	if !s.PressTimeAt.IsZero() {
		say = append(say, fmt.Sprintf("The press time was earned at %s.", t.at(s.PressTimeAt)))
	}
	return say
}

func (t *told) storyOfEnd() (say []string) {
	e, opened := t.first(press.Released)
	if !opened {
		if t.run.Ended.IsZero() && !t.begin().IsZero() {
			return []string{"The run is still open."}
		}
		return nil
	}
	text := fmt.Sprintf("The bag was opened at %s", t.at(e.Time))
	if !t.sum.HoldAt.IsZero() {
		text += ", after " + t.d.Span(e.Time.Sub(t.sum.HoldAt)) + " of hold"
	}
	outcome := verdict(e.Verdict)
	return append(say, text+".", strings.ToUpper(outcome[:1])+outcome[1:]+".")
}
