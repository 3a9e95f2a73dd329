package main

import (
	"fmt"
	"strings"

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
		Long: `Watch shows the sentence, the numbers and the vacuum of the run so far, until
Ctrl-C. Of several presses it shows each in a line, and in full the one that needs
somebody most, or the one that --press names. It fits 80 by 24 characters and uses
more where there is more; in a terminal without UTF-8 (LANG) it draws with plain
letters. When its output is no terminal it prints a line whenever the sentence
changes.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			client, cfg, err := a.client(cmd.Context())
			if err != nil {
				return err
			}
			defer client.Close()
			if !a.interactive() {
				said := saidLines{a, cfg.Display.Units(), map[string]string{}}
				return client.Watch(cmd.Context(), name, said.show)
			}
			return a.live(cmd.Context(), client, name, cfg.Display.Units())
		},
	}
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	return c
}

// saidLines prints each sentence when it changes.
type saidLines struct {
	app     *app
	display units.Display
	said    map[string]string
}

func (l saidLines) show(st press.Status) error {
	if l.said[st.Press] == st.Sentence {
		return nil
	}
	l.said[st.Press] = st.Sentence
	_, err := fmt.Fprintf(l.app.out, "%s  %s: %s\n", l.display.Clock(st.Time, st.Time), st.Press, st.Sentence)
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
