package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

func (a *app) recordPruneCmd() *cobra.Command {
	var older units.Duration
	var keep int
	var dry bool
	c := &cobra.Command{
		Use: "prune", Short: "Thin the samples of old runs, from ten seconds a row to a minute", Args: cobra.NoArgs,
		Long: `Prune makes old runs smaller: it joins their rows of ten seconds to rows of a minute,
with the lowest, mean and highest of each quantity. Runs, events, alerts, what came
out and photos stay, and so does what was written into a build log before. It cannot
be undone; take a backup first (record backup). Runs younger than 40 days are left
alone.

It works while the daemon runs. The file is made smaller only while it does not; until
then the space is used for the next runs.`,
		Example: `  nightclamp record prune --older-than 180d --dry-run
  nightclamp record prune --older-than 180d --keep 10`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !cmd.Flags().Changed("older-than") && !cmd.Flags().Changed("keep") {
				return usageError{errors.New("say which runs: --older-than 180d, --keep 20, or both")}
			}
			if cmd.Flags().Changed("older-than") && older.Std() < record.LeastAge {
				return usageError{fmt.Errorf("--older-than %s: runs are left alone for %d days", older, record.LeastAge/(24*time.Hour))}
			}
			before := time.Now().UTC().Add(-max(older.Std(), record.LeastAge))
			return a.prune(cmd.Context(), record.Pruning{Before: before, Keep: keep, DryRun: dry})
		},
	}
	c.Flags().Var(&older, "older-than", "runs that came out so long ago, as 180d")
	c.Flags().IntVar(&keep, "keep", 0, "leave the newest so many runs alone")
	c.Flags().BoolVar(&dry, "dry-run", false, "only say what would be done")
	return c
}

func (a *app) prune(ctx context.Context, p record.Pruning) (err error) {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	store, err := record.OpenBeside(ctx, databasePath(cfg))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	list, err := store.Prune(ctx, p)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		_, err := fmt.Fprintln(a.out, "There is nothing to thin.")
		return err
	}
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "RUN\tROWS\tAFTER")
	for _, r := range list {
		fmt.Fprintf(w, "%s\t%d\t%d\n", r.Run, r.Rows, r.After)
	}
	if err := w.Flush(); err != nil || p.DryRun {
		return err
	}
	if client, err := wire.Dial(ctx, wireConfig(cfg)); err == nil {
		_, err = client.Version(ctx)
		client.Close()
		if err == nil {
			_, err = fmt.Fprintln(a.out, "The daemon runs, so the file keeps its size; what is free is used for the next runs.")
			return err
		}
	}
	return store.Compact(ctx)
}
