package record_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// kept makes a record with a run, an hour of samples, a hundred events and an
// alert, and returns its bytes.
func kept(t *testing.T) []byte {
	t.Helper()
	s, path := fresh(t)
	run := deck()
	must(t, s.PutRun(t.Context(), run))
	feed(t, s, run.ID, readings(36000))
	var events []press.Event
	for i := range 100 {
		events = append(events, press.Event{Time: evening().Add(time.Duration(i) * time.Minute), Run: run.ID,
			Press: "shed", Kind: press.Noted, Text: fmt.Sprintf("note %d", i)})
	}
	must(t, s.Commit(t.Context(), record.Batch{Events: events,
		Alerts:     []press.Alert{{ID: "a", Press: "shed", Run: run.ID, State: press.AlertRaised}},
		Deliveries: []press.Delivery{{Key: "k", Way: "phone"}}}))
	must(t, s.Close())
	content, err := os.ReadFile(path)
	must(t, err)
	return content
}

// reopen opens damaged bytes as the daemon does.
func reopen(t *testing.T, content []byte) *record.Store {
	t.Helper()
	path := filepath.Join(t.TempDir(), "nightclamp.db")
	must(t, os.WriteFile(path, content, 0o600))
	if _, err := record.Open(t.Context(), path, record.Options{}); !errors.Is(err, record.ErrCorrupt) ||
		!strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "backup") {
		t.Errorf("opening it without setting it aside: %v", err)
	}
	s, err := record.Open(t.Context(), path, record.Options{SetAside: true})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	if s.Aside() == nil {
		t.Fatal("nothing was set aside")
	}
	old, err := os.ReadFile(s.Aside().Path)
	must(t, err)
	if !bytes.Equal(old, content) {
		t.Error("the damaged file was changed")
	}
	// It must take everything a whole one takes.
	must(t, s.PutRun(t.Context(), record.Run{ID: "next", Started: evening().Add(24 * time.Hour)}))
	must(t, s.AddSample(t.Context(), "next", readings(1)[0]))
	must(t, s.AddEvents(t.Context(), press.Event{Run: "next", Kind: press.Settled}))
	return s
}

func TestNoDatabaseAtAllIsSetAside(t *testing.T) {
	s := reopen(t, []byte("a shopping list: glue, plastic film, sealant tape, a new gasket for the pump"))
	if len(s.Aside().Salvaged) != 0 || len(s.Aside().Missed) == 0 {
		t.Errorf("%+v", s.Aside())
	}
}

func TestBrokenPagesAreSteppedOver(t *testing.T) {
	content := kept(t)
	// Two pages in the middle of the samples: leaves of an index tree (0x0a, SQLite
	// file format, section 1.6).
	for n, page := 0, len(content)/1024/2; n < 2; page++ {
		if content[page*1024] == 0x0a {
			copy(content[page*1024:], bytes.Repeat([]byte{0xa5}, 1024))
			n++
		}
	}
	s := reopen(t, content)
	got := s.Aside().Salvaged
	if got["run"] != 1 || got["event"] < 80 || got["thin"] < 250 || got["thin"]+got["event"] >= 462 {
		t.Errorf("salvaged %v, missed %q", got, s.Aside().Missed)
	}
	rows := thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0)
	if len(rows) != got["thin"] {
		t.Errorf("%d rows of samples can be read, %d were carried over", len(rows), got["thin"])
	}
	if len(s.Aside().Missed) == 0 {
		t.Error("nothing is said to be missed")
	}
}

// breakLeaf overwrites a page of samples in the middle of the file.
func breakLeaf(content []byte) {
	for page := len(content) / 1024 / 2; ; page++ {
		if content[page*1024] == 0x0a {
			copy(content[page*1024:], bytes.Repeat([]byte{0xa5}, 1024))
			return
		}
	}
}

// TestOlderFormIsSalvaged: a damaged file of the first form, without the columns
// and tables that came later, gives what it has.
func TestOlderFormIsSalvaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.db")
	must(t, os.WriteFile(path, kept(t), 0o600))
	db, err := sql.Open("sqlite", path)
	must(t, err)
	for _, change := range []string{"DROP TABLE hour", "DROP TABLE outcome", "DROP TABLE asked", "DROP TABLE due", "ALTER TABLE run DROP COLUMN layup", "PRAGMA user_version = 1", "PRAGMA wal_checkpoint(TRUNCATE)"} {
		_, err := db.ExecContext(t.Context(), change)
		must(t, err)
	}
	must(t, db.Close())
	content, err := os.ReadFile(path)
	must(t, err)
	breakLeaf(content)
	s := reopen(t, content)
	if got := s.Aside().Salvaged; got["run"] != 1 || got["event"] < 80 || got["thin"] < 250 {
		t.Errorf("salvaged %v, missed %q", got, s.Aside().Missed)
	}
}

func TestCutFileIsSalvaged(t *testing.T) {
	content := kept(t)
	s := reopen(t, content[:len(content)*2/3/1024*1024])
	if s.Aside().Salvaged["run"] != 1 {
		t.Errorf("%+v", s.Aside())
	}
}

// TestFlippedSchema: the schema is bytes too. A table may come without the column
// that its rows are read by, or with that column in a capital, which is the same
// to SQLite.
func TestFlippedSchema(t *testing.T) {
	for name, test := range map[string]struct {
		flip   byte
		broken bool // a page of samples is lost as well
		events int
		says   string
	}{
		"another letter": {'n' ^ 'm', false, 0, "event: the damaged file has no column n"},
		"a capital":      {'n' ^ 'N', true, 100, "thin"},
	} {
		t.Run(name, func(t *testing.T) {
			content := kept(t)
			was := []byte("n      INTEGER PRIMARY KEY,               -- order of happening")
			at := bytes.Index(content, was)
			if at < 0 {
				t.Fatalf("no %q in the schema", was)
			}
			content[at] ^= test.flip
			if test.broken { // a capital alone is no damage
				breakLeaf(content)
			}
			s := reopen(t, content)
			if got := s.Aside(); got.Salvaged["thin"] == 0 || got.Salvaged["event"] != test.events ||
				!strings.Contains(strings.Join(got.Missed, "; "), test.says) {
				t.Errorf("salvaged %v, missed %q", got.Salvaged, got.Missed)
			}
		})
	}
}

// Whatever bytes are flipped, opening must end, with or without an error, and
// what is read must not stop the program. The seeds are fixed, so that what is
// found is found again; 7000 more were tried.
func TestFlippedBytesNeverStopTheDaemon(t *testing.T) {
	content, path := kept(t), filepath.Join(t.TempDir(), "nightclamp.db")
	for seed := range uint64(flips) {
		openFlipped(t, content, path, seed)
	}
}

func openFlipped(t *testing.T, content []byte, path string, seed uint64) {
	t.Helper()
	random := rand.New(rand.NewPCG(seed, 0)) //nolint:gosec // not a secret
	damaged := bytes.Clone(content)
	reach := len(damaged)
	if random.IntN(2) == 0 {
		reach = 8192 // the schema, which a blow anywhere rarely meets
	}
	for range 1 + random.IntN(200) {
		damaged[random.IntN(reach)] ^= byte(1 << random.IntN(8))
	}
	must(t, os.WriteFile(path, damaged, 0o600))
	s, err := record.Open(t.Context(), path, record.Options{SetAside: true})
	if err != nil {
		if !strings.Contains(err.Error(), "another program") && !strings.Contains(err.Error(), "a newer") {
			t.Errorf("seed %d: %v", seed, err)
		}
		return
	}
	for range s.Thinned(t.Context(), deck().ID, time.Time{}, time.Time{}, 0) {
	}
	_, _ = s.Events(t.Context(), deck().ID)
	must(t, s.Close())
}

func TestOtherProgramsAreLeftAlone(t *testing.T) {
	content := kept(t)
	for name, change := range map[string]func([]byte){
		"another program":    func(b []byte) { b[68]++ }, // application_id
		"a newer nightclamp": func(b []byte) { b[63]++ }, // user_version
	} {
		path := filepath.Join(t.TempDir(), "nightclamp.db")
		changed := bytes.Clone(content)
		change(changed)
		must(t, os.WriteFile(path, changed, 0o600))
		_, err := record.Open(t.Context(), path, record.Options{SetAside: true})
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := record.OpenReadOnly(t.Context(), path); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s, read-only: %v", name, err)
		}
	}
}
