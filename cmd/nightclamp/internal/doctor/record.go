package doctor

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/nightclamp/nightclamp/press/record"
)

const recordArea = "record"

// Database is the file of the record in a data folder.
const Database = "nightclamp.db"

// record reads through the whole record, beside a daemon that writes it.
func (e *examination) record(ctx context.Context) {
	path := e.path(filepath.Join(e.cfg.Data, Database))
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.ok(recordArea, "there is none yet; it begins with the first start of the daemon")
	case err != nil:
		e.add(recordArea, Attention, fmt.Sprintf("it cannot be looked at: %v", err), "ask as root: sudo nightclamp doctor")
		return
	default:
		e.integrity(ctx, path, info)
	}
	if aside := e.glob(filepath.Join(e.cfg.Data, Database+".corrupt-*[0-9Z]")); len(aside) > 0 {
		e.add(recordArea, Attention, fmt.Sprintf("a damaged record was set aside: %s", aside[len(aside)-1]),
			"what could be read was carried over (the log of that start says how much); keep the file until you miss nothing, then delete it; a card that damages files should be replaced")
	}
}

func (e *examination) integrity(ctx context.Context, path string, info fs.FileInfo) {
	store, err := record.OpenReadOnly(ctx, path)
	if err != nil {
		e.add(recordArea, Wrong, err.Error(), "keep a copy; nightclamp record restore puts a backup in its place, and the daemon's next start sets a damaged one aside")
		return
	}
	defer store.Close() //nolint:errcheck // it was only read
	if err := store.Check(ctx); err != nil {
		e.add(recordArea, Wrong, err.Error(), "keep a copy; nightclamp record restore puts a backup in its place, and the daemon's next start sets a damaged one aside")
		return
	}
	runs, err := store.Runs(ctx, record.Filter{Limit: 1})
	if err != nil {
		e.add(recordArea, Wrong, err.Error(), "keep a copy; nightclamp record restore puts a backup in its place")
		return
	}
	if len(runs) > 0 && runs[0].Started.After(e.Now()) {
		e.add(clock, Wrong, fmt.Sprintf("the clock is behind the newest run, which began %s", runs[0].Started.UTC().Format("2006-01-02 15:04 UTC")), "set the clock before the next run")
	}
	e.ok(recordArea, "read through and sound, %.1f MB", float64(info.Size())/1e6)
	if e.cfg.Record.BuildLog != "" {
		e.buildLog(ctx, store)
	}
}

// buildLog looks whether runs that are over got into the build log.
func (e *examination) buildLog(ctx context.Context, store *record.Store) {
	waiting, err := store.Unlogged(ctx)
	if err != nil {
		e.add(recordArea, Wrong, err.Error(), "keep a copy; nightclamp record restore puts a backup in its place")
		return
	}
	for _, run := range waiting {
		if run.Error != "" {
			e.add(recordArea, Attention, fmt.Sprintf("run %s could not be written into the build log: %s", run.Run, run.Error),
				"let the user who runs nightclamp write into "+e.cfg.Record.BuildLog+", and the service too (ReadWritePaths in systemctl edit nightclamp); it is tried again by itself")
			return
		}
	}
	e.ok(recordArea, "the build log %s has every run", e.cfg.Record.BuildLog)
}
