package main

import (
	"fmt"
	"strings"

	"github.com/grafana/grafana-foundation-sdk/go/dashboard"

	"github.com/nightclamp/nightclamp/press"
)

// word is a value of a state set as people read it.
type word struct{ value, says, colour string }

func verdicts() []word {
	return []word{
		{string(press.Unsure), "Too early to say", faint},
		{string(press.WillHold), "Will hold", good},
		{string(press.InDoubt), "In doubt", doubt},
		{string(press.WillNotHold), "Will not hold", bad},
		{string(press.Done), "Done", good},
		{string(press.Pressed), "Pressed", good},
		{string(press.PartClamped), "Part clamped", doubt},
		{string(press.OpenedEarly), "Opened early", bad},
		{string(press.FilmLost), "Film lost", bad},
	}
}

func stages() []word {
	return []word{
		{string(press.Idle), "Idle", faint},
		{string(press.Layup), "Layup", doubt},
		{string(press.Pulldown), "Pull-down", violet},
		{string(press.Hold), "Hold", good},
		{string(press.Release), "Release", faint},
	}
}

// coded turns a state set into one number a press, whose value is the place of
// the word in the list: a timeline shows numbers, not labels.
func coded(metric, label string, words []word) string {
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = fmt.Sprintf(`(«%s|%s=%q» == 1) * %d`, metric, label, w.value, i+1)
	}
	return "max by (site, press) (" + strings.Join(parts, " or ") + ")"
}

// mappings says the words for the numbers of [coded].
func mappings(words []word) []dashboard.ValueMapping {
	options := make(map[string]dashboard.ValueMappingResult)
	for i, w := range words {
		options[fmt.Sprint(i+1)] = dashboard.ValueMappingResult{Text: new(w.says), Color: new(w.colour), Index: new(int32(i))}
	}
	return []dashboard.ValueMapping{{ValueMap: &dashboard.ValueMap{Type: dashboard.MappingTypeValueToText, Options: options}}}
}
