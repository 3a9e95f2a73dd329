package main

import (
	"fmt"
	"strings"

	"github.com/guptarohit/asciigraph"
	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

func (a *app) watchCmd() *cobra.Command {
	var name string
	c := &cobra.Command{
		Use:     "watch",
		GroupID: "watch",
		Short:   "Keep a live view in the terminal",
		Long: `Watch shows the sentence, the numbers and the vacuum as it comes in, until Ctrl-C.
It fits 80 by 24 characters. When its output is no terminal it prints a line
whenever the sentence changes.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			v := newView(a, cfg.Display.Units())
			return client.Watch(cmd.Context(), name, v.show)
		},
	}
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	return c
}

// view draws the newest status of one press, or prints changed sentences.
type view struct {
	app      *app
	display  units.Display
	terminal bool
	said     map[string]string
	vacuum   map[string][]float64
}

// viewPoints is how many columns the chart has; older ones leave on the left.
const viewPoints = 68

func newView(a *app, d units.Display) *view {
	return &view{
		app: a, display: d, terminal: a.interactive(),
		said: map[string]string{}, vacuum: map[string][]float64{},
	}
}

func (v *view) show(st press.Status) error {
	if !v.terminal {
		return v.line(st)
	}
	value, _ := v.display.PressureNumber(st.VacuumPa.Or(0))
	points := append(v.vacuum[st.Press], value)
	if len(points) > viewPoints {
		points = points[1:]
	}
	v.vacuum[st.Press] = points
	var b strings.Builder
	b.WriteString("\x1b[H\x1b[2J")
	fmt.Fprintf(&b, "%s  %s  %s\n\n", st.Press, st.Stage, v.display.Clock(st.Time, st.Time))
	b.WriteString(wrap(st.Sentence, 78) + "\n\n")
	writeNumbers(&b, st, v.display)
	_, unit := v.display.PressureNumber(0)
	b.WriteString("\n" + asciigraph.Plot(points, asciigraph.Height(6), asciigraph.Width(viewPoints), asciigraph.Caption("vacuum, "+unit)) + "\n")
	_, err := fmt.Fprint(v.app.out, b.String())
	return err
}

func (v *view) line(st press.Status) error {
	if v.said[st.Press] == st.Sentence {
		return nil
	}
	v.said[st.Press] = st.Sentence
	_, err := fmt.Fprintf(v.app.out, "%s  %s: %s\n", v.display.Clock(st.Time, st.Time), st.Press, st.Sentence)
	return err
}

// wrap breaks text between words so that no line is longer than width.
func wrap(text string, width int) string { return wrapAfter(text, width, "") }

// wrapAfter puts indent before every line but the first.
func wrapAfter(text string, width int, indent string) string {
	var b strings.Builder
	used := 0
	for word := range strings.FieldsSeq(text) {
		length := len([]rune(word))
		switch {
		case used == 0:
		case used+1+length > width:
			b.WriteString("\n" + indent)
			used = 0
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(word)
		used += length
	}
	return b.String()
}
