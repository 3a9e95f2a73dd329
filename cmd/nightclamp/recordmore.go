package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/intake"
	"github.com/nightclamp/nightclamp/press/record/photo"
)

// exportRuns writes the press records of the named runs, or of all, into a folder
// each, or an archive each.
func (a *app) exportRuns(ctx context.Context, s *record.Store, cfg *config.Config, names []string, into string, zipped bool) error {
	options := export.Options{
		Display: cfg.Display.Units(), Photos: photo.Folder(s.Path()),
		Kept: func(file, beside string) { a.sayKept(file, beside) },
	}
	for _, name := range names {
		write := export.Export
		if zipped {
			write = exportZip
		}
		where, err := write(ctx, s, name, into, options)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintln(a.out, where); err != nil {
			return err
		}
	}
	return nil
}

// sayKept tells of a file that was changed by hand.
func (a *app) sayKept(file, beside string) {
	text := file + " was changed by hand and is left as it is"
	if beside != "" {
		text += "; what is new is in " + beside
	}
	fmt.Fprintln(a.err, text)
}

// exportZip writes one archive. It gets its name once it is whole.
func exportZip(ctx context.Context, src export.Source, id, dir string, options export.Options) (string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil { //nolint:gosec // a build log is for everybody
		return "", err
	}
	draft, err := os.CreateTemp(dir, ".draft-*.zip")
	if err != nil {
		return "", err
	}
	name, err := export.Zip(ctx, src, id, draft, options)
	path := filepath.Join(dir, name+".zip")
	if err = errors.Join(err, draft.Close()); err == nil {
		err = os.Rename(draft.Name(), path)
	}
	if err != nil {
		return "", errors.Join(err, os.Remove(draft.Name()))
	}
	return path, nil
}

// allRuns are the names of every run, oldest first.
func allRuns(ctx context.Context, s *record.Store) ([]string, error) {
	runs, err := s.Runs(ctx, record.Filter{})
	if err != nil {
		return nil, err
	}
	names := make([]string, len(runs))
	for i, r := range runs {
		names[len(runs)-1-i] = r.ID
	}
	return names, nil
}

func (a *app) recordBackupCmd() *cobra.Command {
	return &cobra.Command{
		Use: "backup FILE", Short: "Copy the record into one file, while it is being written", Args: cobra.ExactArgs(1),
		Long: `Backup copies the record into one file, also while the daemon writes it, and checks
the copy. The photos are copied into a folder beside it, FILE.photos.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withRecord(cmd.Context(), func(s *record.Store, _ *config.Config) error {
				if err := s.Backup(cmd.Context(), args[0]); err != nil {
					return err
				}
				if _, err := fmt.Fprintln(a.out, args[0]); err != nil {
					return err
				}
				return a.photos(photo.Folder(s.Path()), photo.BackupFolder(args[0]))
			})
		},
	}
}

// photos copies the photos, and says how many and where to. What could not be copied
// is an error after the rest has been.
func (a *app) photos(from, to string) error {
	copied, err := photo.Copy(from, to, time.Now())
	if copied > 0 {
		_, told := fmt.Fprintf(a.out, "%s (photos: %d)\n", to, copied)
		err = errors.Join(err, told)
	}
	return err
}

// withOwnRecord opens the record to write. The daemon must not run: it is the only
// writer, and what it has in memory would be lost.
func (a *app) withOwnRecord(ctx context.Context, do func(*record.Store, *config.Config) error) (err error) {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	release, err := claim(cfg.Data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	store, err := record.Open(ctx, databasePath(cfg), record.Options{})
	if err != nil {
		return err
	}
	return errors.Join(do(store, cfg), store.Close())
}

func (a *app) recordRestoreCmd() *cobra.Command {
	return &cobra.Command{
		Use: "restore FILE", Short: "Put a backup in the place of the record", Args: cobra.ExactArgs(1),
		Long: `Restore puts a backup in the place of the record, and the photos of FILE.photos, if
there are any, beside it. What was there is kept. The daemon must not be running.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withOwnRecord(cmd.Context(), func(s *record.Store, _ *config.Config) error {
				before, err := s.Restore(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintf(a.out, "restored; what was there before is kept as %s\n", before); err != nil {
					return err
				}
				return a.photos(photo.BackupFolder(args[0]), photo.Folder(s.Path()))
			})
		},
	}
}

func (a *app) recordImportCmd() *cobra.Command {
	var glue, name, begin string
	c := &cobra.Command{
		Use: "import FOLDER|FILE.csv", Short: "Take in a run that was recorded elsewhere", Args: cobra.ExactArgs(1),
		Long: `Import takes in what another board exported (the folder with record.json), without
loss; or a plain series as replay reads it, which is played to the engine first. The
daemon must not be running.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			info, err := os.Stat(args[0])
			if err != nil {
				return usageError{err}
			}
			return a.withOwnRecord(cmd.Context(), func(s *record.Store, cfg *config.Config) error {
				if info.IsDir() {
					id, err := intake.Folder(cmd.Context(), s, args[0], photo.Folder(s.Path()))
					if err != nil {
						return err
					}
					_, err = fmt.Fprintln(a.out, id)
					return err
				}
				return a.importLog(cmd.Context(), s, cfg, args[0], glue, name, begin)
			})
		},
	}
	c.Flags().StringVarP(&glue, "glue", "g", "", "adhesive of a plain series")
	c.Flags().StringVarP(&name, "press", "p", "imported", "press of a plain series")
	c.Flags().StringVar(&begin, "begin", "", "when a series that counts seconds began, RFC 3339")
	return c
}

func (a *app) importLog(ctx context.Context, s *record.Store, cfg *config.Config, path, glue, name, begin string) error {
	options := intake.LogOptions{Press: press.Config{Site: cfg.Site, Press: name, FloorPa: cfg.Defaults.Floor.Pa(), Relaxed: !cfg.Defaults.Strained}}
	if glue != "" {
		sheet, text, err := sheetsOf(cfg)(glue)
		if err != nil {
			return usageError{err}
		}
		options.Press.Sheet, options.Run.Glue, options.Run.Sheet = sheet, sheet.Name, text
	}
	if begin != "" {
		at, err := time.Parse(time.RFC3339, begin)
		if err != nil {
			return usageError{fmt.Errorf("--begin %q: write it as 2026-10-16T19:40:00+02:00: %w", begin, err)}
		}
		options.Begin = at
	}
	file, err := os.Open(path) //nolint:gosec // the caller names the file to read
	if err != nil {
		return usageError{err}
	}
	defer file.Close() //nolint:errcheck // it was only read
	ids, err := intake.Log(ctx, s, file, path, options)
	if err != nil {
		return usageError{err}
	}
	for _, id := range ids {
		fmt.Fprintln(a.out, id)
	}
	return nil
}
