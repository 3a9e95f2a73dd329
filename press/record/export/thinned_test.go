package export_test

import (
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/record/export"
)

// A run that was thinned after it was written does not take the finer samples out
// of the build log; what is said of it is brought up to date.
func TestThinnedRunLeavesTheFineSamples(t *testing.T) {
	source, dir, told := night(), t.TempDir(), []string{}
	options := export.Options{Kept: func(file, beside string) { told = append(told, file+beside) }}
	folder, err := export.Export(t.Context(), source, "last", dir, options)
	must(t, err)
	fine := read(t, folder)
	source.rows, source.run.Thinned, source.outcomes[1].Notes = source.rows[:len(source.rows)/6], true, "a month later"
	for range 2 {
		told = nil
		_, err = export.Export(t.Context(), source, "last", dir, options)
		must(t, err)
		now := read(t, folder)
		for _, name := range []string{"samples.csv", "record.json", "chart.svg", "chart.png"} {
			if now[name] != fine[name] {
				t.Errorf("%s was written anew", name)
			}
		}
		if !strings.Contains(now["record.md"], "a month later") || len(told) != 4 {
			t.Errorf("record.md is not up to date, or told of %q", told)
		}
	}
	// Where there is nothing yet, what there is is written.
	elsewhere, err := export.Export(t.Context(), source, "last", t.TempDir(), options)
	must(t, err)
	if lines := strings.Count(read(t, elsewhere)["samples.csv"], "\n"); lines != len(source.rows)+1 {
		t.Errorf("%d lines", lines)
	}
}
