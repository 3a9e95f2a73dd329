package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/photo"
)

// told is what the command line says came out.
type toldOutcome struct {
	after       record.After
	numbers     map[string]*string // by flag
	delaminated string
	note        string
	photos      []string
}

func (a *app) recordOutcomeCmd() *cobra.Command {
	t := toldOutcome{numbers: map[string]*string{}}
	c := &cobra.Command{
		Use: "outcome [RUN]", Short: "Write down what came out of the bag: depth, weight, photos", Args: cobra.MaximumNArgs(1),
		Long: `Outcome keeps what only a ruler knows: the depth or radius of the blank along and
across, against the mould; its weight; whether it came apart; notes and photos. It is
asked on release, a day and a week later, for wood and glue go on moving. From it and
the lay-up it works out the springback.

RUN may be the begin of a run's name; without one it is the newest that was released,
also while the next is on the press. Without flags it
asks, on a terminal, and elsewhere prints what was written down. What is given again
replaces what was there; photos are added. It works while the daemon runs.

Measure the mould once, over the same span as the blank: a mould that nobody has
measured is taken to be as the lay-up planned it.`,
		Example: `  nightclamp record outcome
  nightclamp record outcome --depth-along 21.5mm --mould-depth-along 23.5mm --span-along 400mm
  nightclamp record outcome shed-2026 --after week --weight 1.85kg --delaminated no --photo edge.jpg`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.recordOutcome(cmd, runName(args), t)
		},
	}
	f := c.Flags()
	f.Var(&t.after, "after", "when it was measured: release, day or week; without it: the last that has come")
	for _, field := range outcomeFields() {
		t.numbers[field.flag] = f.String(field.flag, "", field.help)
	}
	f.StringVar(&t.delaminated, "delaminated", "", "whether it came apart anywhere: yes or no")
	f.StringVar(&t.note, "note", "", "what else there is to say")
	f.StringArrayVar(&t.photos, "photo", nil, "a picture, JPEG, PNG or WebP; may be given several times")
	a.jsonFlag(c)
	return c
}

func (a *app) recordOutcome(cmd *cobra.Command, name string, t toldOutcome) error {
	ctx := cmd.Context()
	cfg, err := a.config()
	if err != nil {
		return err
	}
	given := anyGiven(cmd.Flags())
	asking := !given && !a.asJSON && a.keyboard()
	open := record.OpenReadOnly
	if given || asking {
		open = record.OpenBeside
	}
	store, err := open(ctx, databasePath(cfg))
	if err != nil {
		return err
	}
	defer store.Close() //nolint:errcheck // every write is on the disk when it returns
	run, err := cameOut(ctx, store, name)
	if err != nil {
		return usageError{err}
	}
	if run.Ended.IsZero() {
		return usageError{fmt.Errorf("run %s: %w: nightclamp release closes it", run.ID, record.ErrNotReleased)}
	}
	if given || asking {
		if err := a.writeOutcome(ctx, store, cfg, run, t, asking); err != nil {
			return err
		}
	}
	return a.printOutcome(ctx, store, cfg, run)
}

// cameOut is the run of that name, and for "last" the newest that was released.
func cameOut(ctx context.Context, store *record.Store, name string) (record.Run, error) {
	run, err := store.Run(ctx, name)
	if err != nil || name != "last" || !run.Ended.IsZero() {
		return run, err
	}
	all, err := store.Runs(ctx, record.Filter{})
	if err != nil {
		return run, err
	}
	for _, r := range all { // the newest first
		if !r.Ended.IsZero() {
			return r, nil
		}
	}
	return run, nil
}

// anyGiven reports whether a flag says something about the blank.
func anyGiven(flags *pflag.FlagSet) bool {
	given := false
	flags.Visit(func(f *pflag.Flag) {
		_, number := outcomeFlags()[f.Name]
		given = given || number || f.Name == "delaminated" || f.Name == "note" || f.Name == "photo"
	})
	return given
}

// writeOutcome takes what the flags or the builder say and keeps it.
func (a *app) writeOutcome(ctx context.Context, store *record.Store, cfg *config.Config, run record.Run, t toldOutcome, asking bool) error {
	now := time.Now().UTC()
	if t.after == "" {
		t.after = lastCome(run, now)
	}
	o, err := store.Outcome(ctx, run.ID, t.after)
	if err != nil {
		return err
	}
	if asking {
		err = a.askOutcome(&o, &t, run)
	} else {
		err = t.apply(&o)
	}
	if err != nil {
		return err
	}
	for _, path := range t.photos {
		if err := addPhoto(&o, photo.Folder(store.Path()), run.ID, path); err != nil {
			return err
		}
	}
	o.Entered = now.Truncate(time.Second)
	return store.PutOutcome(ctx, run.ID, o, cfg.Record.BuildLog != "")
}

// lastCome is the last of the three times that has come.
func lastCome(run record.Run, now time.Time) record.After {
	after := record.AtRelease
	for _, a := range record.Afters() {
		if !run.Ended.Add(a.Later()).After(now) {
			after = a
		}
	}
	return after
}

// apply puts the flags into the outcome.
func (t toldOutcome) apply(o *record.Outcome) error {
	for _, field := range outcomeFields() {
		text := *t.numbers[field.flag]
		if text == "" {
			continue
		}
		if err := field.set(o, text); err != nil {
			return usageError{fmt.Errorf("--%s: %w", field.flag, err)}
		}
	}
	if err := setDelaminated(o, t.delaminated); err != nil {
		return usageError{fmt.Errorf("--delaminated: %w", err)}
	}
	if t.note != "" {
		o.Notes = t.note
	}
	return nil
}

func setDelaminated(o *record.Outcome, text string) error {
	var yes bool
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "":
		return nil
	case "yes", "y":
		yes = true
	case "no", "n":
	default:
		return fmt.Errorf("%q: say yes or no", text)
	}
	o.Delaminated = &yes
	return nil
}

// addPhoto keeps a picture; the same one again changes nothing.
func addPhoto(o *record.Outcome, folder, run, path string) error {
	in, err := os.Open(path) //nolint:gosec // the caller names the file to read
	if err != nil {
		return usageError{fmt.Errorf("photo: %w", err)}
	}
	defer in.Close() //nolint:errcheck // it was only read
	p, err := photo.Keep(folder, run, filepath.Base(path), in)
	if errors.Is(err, photo.ErrRefused) {
		return usageError{err}
	}
	if err != nil {
		return err
	}
	o.AddPhoto(p)
	return nil
}
