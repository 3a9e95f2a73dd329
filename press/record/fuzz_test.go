package record

import (
	"bytes"
	"encoding/gob"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// What a killed daemon left on the ramdisk may be cut or damaged anywhere: what
// is read of it never stops the next one.
func FuzzReadRamdisk(f *testing.F) {
	var whole bytes.Buffer
	to := gob.NewEncoder(&whole)
	for seq := range int64(3) {
		at := time.Date(2026, 10, 17, 18, 40, 0, 0, time.UTC).Add(time.Duration(seq) * 10 * time.Second)
		if err := to.Encode(waiting{"run", seq, Thin{First: at, Mean: at, Last: at, Count: 10, Bag: nothing()}}); err != nil {
			f.Fatal(err)
		}
	}
	f.Add(whole.Bytes())
	f.Add(whole.Bytes()[:whole.Len()-5])
	f.Add([]byte("a shopping list"))
	path := filepath.Join(f.TempDir(), "waiting")
	f.Fuzz(func(t *testing.T, content []byte) {
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		rows, err := readRamdisk(path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Equal(content, whole.Bytes()) && len(rows) != 3 {
			t.Errorf("%d of 3 buckets were read", len(rows))
		}
	})
}
