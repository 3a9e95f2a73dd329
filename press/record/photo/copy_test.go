package photo

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// put writes files, named from a folder, with their content.
func put(t *testing.T, folder string, files map[string]string) {
	t.Helper()
	for name, content := range files {
		path := filepath.Join(folder, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func TestCopyLosesNothing(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	put(t, from, map[string]string{"deck-1/a.jpg": "a", "deck-1/b.jpg": "new", "deck-2/c.jpg": "c", "deck-2/.draft-7": "half", "notes.txt": "not a photo"})
	put(t, to, map[string]string{"deck-1/b.jpg": "old", "deck-2/c.jpg": "c"})
	// What cannot be read: a folder where a picture should be.
	put(t, from, map[string]string{"deck-1/d.jpg/x": "x"})
	copied, err := Copy(from, to, time.Date(2026, 10, 18, 6, 0, 0, 0, time.UTC))
	if copied != 3 || err == nil || !strings.Contains(err.Error(), "d.jpg") {
		t.Errorf("%d copied, %v", copied, err)
	}
	for name, want := range map[string]string{
		"deck-1/a.jpg": "a", "deck-1/b.jpg": "new", "deck-1/b.jpg.before-20261018T060000Z": "old", "deck-2/c.jpg": "c", "deck-2/.draft-7": "",
	} {
		if got, _ := os.ReadFile(filepath.Join(to, name)); string(got) != want { //nolint:gosec // of this test
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	if copied, err := Copy(filepath.Join(from, "none"), to, time.Now()); copied != 0 || err != nil {
		t.Errorf("no photos at all: %d, %v", copied, err)
	}
}
