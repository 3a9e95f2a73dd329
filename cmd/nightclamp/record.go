package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

func (a *app) recordCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "record",
		GroupID: "look",
		Short:   "List, show, export and compare past runs; what came out; backup",
		Long: `The record is one file in the data folder. These commands read it directly,
whether the daemon runs or not; only import and restore want it stopped.`,
	}
	c.AddCommand(
		a.recordListCmd(), a.recordShowCmd(), a.recordExportCmd(), a.recordImportCmd(),
		a.recordOutcomeCmd(), a.recordCompareCmd(), a.recordPruneCmd(), a.recordBackupCmd(), a.recordRestoreCmd(),
	)
	return c
}

// withRecord opens the record to read.
func (a *app) withRecord(ctx context.Context, do func(*record.Store, *config.Config) error) error {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	store, err := record.OpenReadOnly(ctx, databasePath(cfg))
	if err != nil {
		return err
	}
	defer store.Close() //nolint:errcheck // it was only read
	return do(store, cfg)
}

func (a *app) recordListCmd() *cobra.Command {
	var f record.Filter
	c := &cobra.Command{
		Use: "list", Short: "List the runs, newest first", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.withRecord(cmd.Context(), func(s *record.Store, cfg *config.Config) error {
				runs, err := s.Runs(cmd.Context(), f)
				if err != nil {
					return err
				}
				return a.printRuns(runs, cfg)
			})
		},
	}
	c.Flags().StringVarP(&f.Press, "press", "p", "", "only this press")
	c.Flags().IntVarP(&f.Limit, "limit", "n", 20, "at most so many; 0: all")
	a.jsonFlag(c)
	return c
}

// listed is a run as `record list --json` prints it.
type listed struct {
	Run     string        `json:"run"`
	Press   string        `json:"press"`
	Work    string        `json:"work"`
	Glue    string        `json:"glue"`
	Started time.Time     `json:"started"`
	Ended   *time.Time    `json:"ended"`
	Stage   press.Stage   `json:"stage"`
	Verdict press.Verdict `json:"verdict"`
}

func (a *app) printRuns(runs []record.Run, cfg *config.Config) error {
	if a.asJSON {
		list := make([]listed, len(runs))
		for i, r := range runs {
			list[i] = listed{Run: r.ID, Press: r.Press, Work: r.Work, Glue: r.Glue, Started: r.Started, Stage: r.Stage, Verdict: r.Verdict}
			if !r.Ended.IsZero() {
				list[i].Ended = &r.Ended
			}
		}
		return a.printJSON(list)
	}
	if len(runs) == 0 {
		_, err := fmt.Fprintf(a.out, "No run is in the record %s yet.\n", databasePath(cfg))
		return err
	}
	zone := cfg.Display.Units().Location
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "RUN\tWORK\tADHESIVE\tSTARTED\tVERDICT")
	for _, r := range runs {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", r.ID, dash(r.Work), dash(r.Glue),
			r.Started.In(zone).Format("2006-01-02 15:04"), strings.ReplaceAll(string(r.Verdict), "_", " "))
	}
	return w.Flush()
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func (a *app) recordShowCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "show [RUN]", Short: "Show one run: what happened, in order", Args: cobra.MaximumNArgs(1),
		Long: `Show prints a run with its events. RUN may be the begin of its name; without one
it is the newest.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withRecord(cmd.Context(), func(s *record.Store, cfg *config.Config) error {
				r, err := s.Run(cmd.Context(), runName(args))
				if err != nil {
					return err
				}
				events, err := s.Events(cmd.Context(), r.ID)
				if err != nil {
					return err
				}
				if a.asJSON {
					return a.printJSON(map[string]any{"run": json.RawMessage(orNull(r.Final)), "events": events})
				}
				return a.printRun(r, events, cfg)
			})
		},
	}
	a.jsonFlag(c)
	return c
}

func orNull(b []byte) []byte {
	if len(b) == 0 {
		return []byte("null")
	}
	return b
}

func runName(args []string) string {
	if len(args) == 0 {
		return "last"
	}
	return args[0]
}

func (a *app) printRun(r record.Run, events []press.Event, cfg *config.Config) error {
	d := cfg.Display.Units()
	moment := func(t time.Time) string {
		if t.IsZero() {
			return "never"
		}
		return t.In(d.Location).Format("2006-01-02 15:04:05")
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s  %s\n", r.ID, r.Work)
	var final press.Status
	if err := json.Unmarshal(orNull(r.Final), &final); err == nil && final.Sentence != "" {
		fmt.Fprintln(&b, wrap(final.Sentence, 78))
	}
	fmt.Fprintf(&b, "adhesive %s, floor %s\n\n", dash(r.Glue), d.Pressure(r.FloorPa))
	for _, e := range events {
		fmt.Fprintf(&b, "%s  %s\n", moment(e.Time), describe(e, moment))
	}
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

func (a *app) recordExportCmd() *cobra.Command {
	var into string
	var all, last, zipped bool
	c := &cobra.Command{
		Use: "export [RUN]", Short: "Write the press record of a run into a folder", Args: cobra.MaximumNArgs(1),
		Long: `Export writes a folder named after the run, with record.md, record.html, record.json,
samples.csv, the chart and the photos. A second export writes the same bytes. A file
that was changed by hand is never overwritten: the new text is put beside it, as
record.new.md. Without a name it is the newest run.

The folder goes into DIR: a build log kept under version control, say. Without --into
it is record.build_log of the config, or else this folder.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withRecord(cmd.Context(), func(s *record.Store, cfg *config.Config) error {
				names := []string{runName(args)}
				if len(args) > 0 && (all || last) {
					return usageError{errors.New("name a run, or say --last or --all")}
				}
				if into == "" {
					into = cmp.Or(cfg.Record.BuildLog, ".")
				}
				if all {
					var err error
					if names, err = allRuns(cmd.Context(), s); err != nil {
						return err
					}
				}
				return a.exportRuns(cmd.Context(), s, cfg, names, into, zipped)
			})
		},
	}
	c.Flags().StringVar(&into, "into", "", "the `folder` to put it into")
	c.Flags().StringVarP(&into, "out", "o", "", "the same")
	c.Flags().BoolVar(&last, "last", false, "the newest run, as without a name")
	c.Flags().BoolVar(&all, "all", false, "every run")
	c.MarkFlagsMutuallyExclusive("last", "all")
	c.Flags().BoolVar(&zipped, "zip", false, "an archive instead of a folder")
	return c
}
