package export

import (
	"context"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
)

// Source is where a run is read from; a [record.Store] is one.
type Source interface {
	Run(ctx context.Context, id string) (record.Run, error)
	Events(ctx context.Context, run string) ([]press.Event, error)
	Alerts(ctx context.Context, f record.AlertFilter) ([]press.Alert, error)
	Outcomes(ctx context.Context, run string) ([]record.Outcome, error)
	Thinned(ctx context.Context, run string, from, to time.Time, maxPoints int) iter.Seq2[record.Thin, error]
}

// Options say how the record is shown.
type Options struct {
	Display units.Display // units, zone and clock of record.md and chart.svg
	Photos  string        // the folder of the photos beside the record; empty: they are left out
	// Kept is told of a file that was changed by hand and is left as it is, and of
	// the one beside it that has the new text, if there is one; nil: nobody is told.
	Kept func(file, beside string)
}

// Export writes the run that id names ("last", or the beginning of its ID, will
// do) into a folder of its own within dir, and returns that folder. dir is made
// when it is not there.
func Export(ctx context.Context, src Source, id, dir string, options Options) (string, error) {
	t, err := gather(ctx, src, id, options)
	if err != nil {
		return "", fmt.Errorf("export run %q: %w", id, err)
	}
	files, err := t.files()
	if err != nil {
		return "", fmt.Errorf("export run %q: %w", id, err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil { //nolint:gosec // a build log is for everybody
		return "", fmt.Errorf("export run %s: the folder to put it into: %w", t.run.ID, err)
	}
	folder := filepath.Join(dir, folderName(t.run.ID))
	kept := options.Kept
	if kept == nil {
		kept = func(string, string) {}
	}
	if err := writeFolder(folder, files, t.run.Thinned, kept); err != nil {
		return "", fmt.Errorf("export run %s: %w", t.run.ID, err)
	}
	return folder, nil
}

func (t *told) files() ([]file, error) {
	object, err := t.json()
	if err != nil {
		return nil, err
	}
	web, err := t.html()
	if err != nil {
		return nil, err
	}
	picture, err := t.png()
	if err != nil {
		return nil, err
	}
	files := []file{
		{name: "chart.png", body: picture},
		{name: "chart.svg", body: t.svg()},
		{name: "record.html", body: web},
		{name: "record.json", body: object},
		{name: "record.md", body: t.markdown()},
	}
	if paper, err := t.pdf(picture); err == nil { // else the rest is worth having without it
		files = append(files, file{name: "record.pdf", body: paper})
	}
	files = append(files, file{name: "samples.csv", body: t.csv()})
	return append(files, t.photoFiles()...), nil
}

// folderName keeps an ID to what every file system takes.
func folderName(id string) string {
	name := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '-'
	}, id)
	if name = strings.TrimLeft(name, "."); name == "" {
		return "run"
	}
	return name
}
