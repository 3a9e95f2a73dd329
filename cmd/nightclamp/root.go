package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/nightclamp/nightclamp/press/units"
)

// The exit codes. Those of `status` are its own; see its help.
const (
	exitOK    = 0
	exitFault = 1 // the work could not be done
	exitUsage = 2 // the arguments or the input are wrong
)

// streams are where a command reads and writes, so that tests can look.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// app is what the commands share.
type app struct {
	streams
	configPath string
	verbose    bool
	asJSON     bool
}

// usageError is an error of the one who called: exit code 2.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// exitCode ends the program with a code and no message; the command has said
// what there is to say.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit code %d", int(e)) }

// execute runs one command line and returns the exit code.
func execute(ctx context.Context, s streams, args []string) int {
	a := &app{streams: s}
	root := a.root()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var code exitCode
	switch {
	case err == nil:
		return exitOK
	case errors.As(err, &code):
		return int(code)
	}
	fmt.Fprintf(s.err, "nightclamp: %s\n", strings.TrimSpace(err.Error()))
	if errors.As(err, new(usageError)) || isCobraUsage(err) {
		return exitUsage
	}
	return exitFault
}

// isCobraUsage tells cobra's own complaints, which have no type, by their words.
func isCobraUsage(err error) bool {
	for _, words := range []string{"unknown command", "unknown flag", "unknown shorthand", "required flag", "accepts ", "requires ", "invalid argument", "if any flags in the group"} {
		if strings.HasPrefix(err.Error(), words) {
			return true
		}
	}
	return false
}

func (a *app) root() *cobra.Command {
	c := &cobra.Command{
		Use:   "nightclamp",
		Short: "Watch a vacuum press through the night",
		Long: `nightclamp watches a vacuum press and answers one question all night:
will this bag hold until the glue has cured?

It reads the pressure on the bag line and the temperature at the glue line,
tells a leak from everything else that moves the pressure, works out from the
adhesive's datasheet how much press time is left, and wakes you only when the
two do not fit together.

No hardware? See it at work:     nightclamp demo
A recorded series?               nightclamp replay --glue pva-d3 night.csv
On the board beside the press:   nightclamp serve

nightclamp is an aid and no safety device. Follow the adhesive's datasheet,
the pump's manual and your local rules.`,
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	c.SetIn(a.in)
	c.SetOut(a.out)
	c.SetErr(a.err)
	c.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	flags := c.PersistentFlags()
	flags.StringVarP(&a.configPath, "config", "c", os.Getenv("NIGHTCLAMP_CONFIG"),
		"config `file`; without one: $NIGHTCLAMP_CONFIG, ~/.config/nightclamp/nightclamp.toml, /etc/nightclamp/nightclamp.toml, or the defaults")
	flags.BoolVarP(&a.verbose, "verbose", "v", false, "log more")
	c.AddGroup(
		&cobra.Group{ID: "watch", Title: "Watching:"},
		&cobra.Group{ID: "run", Title: "A run, from the first glue to the release:"},
		&cobra.Group{ID: "look", Title: "Looking back and ahead:"},
		&cobra.Group{ID: "set", Title: "Setting up:"},
	)
	c.AddCommand(
		a.serveCmd(), a.demoCmd(), a.statusCmd(), a.watchCmd(), a.alertCmd(),
		a.planCmd(), a.startCmd(), a.releaseCmd(), a.topUpCmd(), a.noteCmd(), a.dropTestCmd(), a.weatherCmd(),
		a.replayCmd(), a.recordCmd(), a.glueCmd(),
		a.sensorCmd(), a.pumpCmd(), a.doctorCmd(), a.configCmd(), a.passwordCmd(), a.versionCmd(),
	)
	refuseUnknown(c)
	explainArgs(c)
	hideNothing(c)
	return c
}

// refuseUnknown makes a command that only has others below it refuse a word that is
// none of them: cobra shows the help, and a script believes that it worked.
func refuseUnknown(c *cobra.Command) {
	for _, sub := range c.Commands() {
		refuseUnknown(sub)
		if !sub.HasSubCommands() || sub.Runnable() {
			continue
		}
		sub.SuggestionsMinimumDistance = 2
		sub.RunE = func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			text := fmt.Sprintf("unknown command %q for %q", args[0], cmd.CommandPath())
			if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
				text += fmt.Sprintf("; did you mean %q?", near[0])
			}
			return usageError{fmt.Errorf("%s; %s --help lists them", text, cmd.CommandPath())}
		}
	}
}

// hideNothing keeps the help from calling nothing a default: a quantity that is not
// given is not 0 kPa.
func hideNothing(c *cobra.Command) {
	for _, sub := range c.Commands() {
		hideNothing(sub)
	}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		switch f.DefValue {
		case units.Pressure(0).String(), units.Temperature(0).String(), units.Duration(0).String():
			f.DefValue = ""
		}
	})
}

// explainArgs makes every command that was given too few or too many words say what it
// takes, with an example where it has one.
func explainArgs(c *cobra.Command) {
	for _, sub := range c.Commands() {
		explainArgs(sub)
	}
	count := c.Args
	if count == nil {
		return
	}
	c.Args = func(cmd *cobra.Command, args []string) error {
		err := count(cmd, args)
		if err == nil || strings.HasPrefix(err.Error(), "unknown command") {
			return err
		}
		words := "an argument is missing; it is used so: "
		if len(args) > 0 {
			words = fmt.Sprintf("%q are not the arguments it takes; it is used so: ", strings.Join(args, " "))
		}
		words += strings.TrimSuffix(cmd.UseLine(), " [flags]")
		if cmd.Example != "" {
			words += "\nfor example:\n" + cmd.Example
		}
		return usageError{fmt.Errorf("%s: %s", cmd.Name(), words)}
	}
}

// jsonFlag adds --json to a command whose answer a program might read.
func (a *app) jsonFlag(c *cobra.Command) {
	c.Flags().BoolVar(&a.asJSON, "json", false, "print JSON")
}

// logger writes to stderr: short lines for a person, as the journal adds the time.
func (a *app) logger() *slog.Logger {
	level := slog.LevelInfo
	if a.verbose {
		level = slog.LevelDebug
	}
	options := &slog.HandlerOptions{Level: level}
	if os.Getenv("JOURNAL_STREAM") != "" {
		options.ReplaceAttr = func(_ []string, attr slog.Attr) slog.Attr {
			if attr.Key == slog.TimeKey {
				return slog.Attr{}
			}
			return attr
		}
	}
	return slog.New(slog.NewTextHandler(a.err, options))
}
