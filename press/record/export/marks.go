package export

import (
	"sort"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/nightclamp/nightclamp/press"
)

// mark is an event on the chart.
type mark struct {
	at     time.Time
	label  string
	detail string // shown when pointed at
	weight int    // the lighter ones lose their label when there is no room
	x      float64
	row    int
}

const (
	maxRows      = 6
	labelChars   = 22
	charWidth    = 6.3
	labelSpacing = 10.0
)

// marks are the events that are worth one.
func (t *told) marks() []mark {
	var list []mark
	for _, e := range t.events {
		label, weight := t.markLabel(e)
		if weight > 0 {
			list = append(list, mark{at: e.Time, label: clip(label, labelChars), detail: t.at(e.Time) + " " + t.event(e), weight: weight})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].at.Before(list[j].at) })
	return list
}

func (t *told) markLabel(e press.Event) (string, int) {
	switch e.Kind {
	case press.LayupStarted:
		return "glue spread", 7
	case press.PulldownStarted:
		return "pump on", 5
	case press.HoldStarted:
		return "hold", 8
	case press.Settled:
		return "settled", 4
	case press.ToppedUp:
		return "top-up", 6
	case press.LeakFound:
		return "leak " + t.d.Rate(float64(e.RatePaPerH)), 9
	case press.LeakEnded:
		return "leak closed", 5
	case press.BelowFloor:
		return "below floor", 9
	case press.AboveFloor:
		return "above floor", 6
	case press.VacuumLost:
		return "vacuum lost", 10
	case press.TooCold:
		return "too cold", 8
	case press.PressTimeReached:
		return "press time", 10
	case press.Released:
		return "opened", 10
	case press.AssemblyOver:
		return "assembly over", 8
	case press.SensorSilent, press.SensorStuck, press.SensorJumped:
		return e.Quantity + " sensor", 3
	case press.LineBlocked:
		return "line blocked", 9
	case press.DropTestEnded:
		return "drop test: " + strings.ReplaceAll(string(e.Outcome), "_", " "), 5
	case press.Noted:
		return e.Text, 2
	}
	return "", 0
}

// rightOf is how far right the panels reach so that each label has its room.
func rightOf(marks []mark, from, to float64) float64 {
	right := chartWidth - edge
	for _, m := range marks {
		share := (ms(m.at) - from) / (to - from)
		if share > 0.5 {
			right = min(right, plotLeft+(chartWidth-edge-m.width()-plotLeft)/share)
		}
	}
	return right
}

// placeMarks gives each label a row, and returns how many rows there are.
// Labels run to the right of their mark; one that would run into a label before
// it goes one row further down, so that no line crosses a label. Where there
// are too many rows the lightest marks lose their labels.
func placeMarks(marks []mark, x axis) (rows int) {
	for i := range marks {
		marks[i].x = x.at(ms(marks[i].at))
	}
	for {
		rows = layRows(marks)
		if rows <= maxRows {
			return rows
		}
		lightest := -1
		for i, m := range marks {
			if m.label != "" && (lightest < 0 || m.weight <= marks[lightest].weight) {
				lightest = i
			}
		}
		marks[lightest].label = ""
	}
}

// width is what the label takes, estimated: there is no font at hand.
func (m mark) width() float64 {
	return float64(utf8.RuneCountInString(m.label))*charWidth + labelSpacing
}

func layRows(marks []mark) (rows int) {
	for i := range marks {
		if marks[i].label == "" {
			continue
		}
		marks[i].row = 0
		for _, before := range marks[:i] {
			if before.label != "" && before.x+before.width() > marks[i].x {
				marks[i].row = max(marks[i].row, before.row+1)
			}
		}
		rows = max(rows, marks[i].row+1)
	}
	return rows
}

func clip(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// drawMarks draws each mark from its label through the panels.
func drawMarks(b pen, marks []mark, panels []*panel) {
	bottom := panels[len(panels)-1].bottom()
	for _, m := range marks {
		if m.label == "" { // a tick at the foot
			b.mark(m.x, bottom-8, bottom, m.detail)
			continue
		}
		y := labelTop + float64(m.row)*labelHeight
		for i, p := range panels {
			from := p.top
			if i == 0 {
				from = y - 9
			}
			b.mark(m.x, from, p.bottom(), m.detail)
		}
		b.text(m.x+4, y, "mark-label", "", m.label)
	}
}
