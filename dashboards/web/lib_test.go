package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func discard() *slog.Logger { return slog.New(slog.DiscardHandler) }

// The files of libraries are those of the version that SOURCES names, byte by
// byte; its sums were taken from the npm package, whose own integrity is there
// too (go run ./dashboards/web/fetchlib does both again).
func TestLibrariesAreWhatTheySay(t *testing.T) {
	sources, err := os.ReadFile("page/lib/SOURCES")
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{"SOURCES": true}
	for line := range strings.SplitSeq(string(sources), "\n") {
		sum, name, ok := strings.Cut(line, "  ")
		if !ok || len(sum) != 64 {
			continue
		}
		named[name] = true
		body, err := os.ReadFile(filepath.Join("page/lib", name))
		if err != nil {
			t.Error(err)
			continue
		}
		if got := sha256.Sum256(body); hex.EncodeToString(got[:]) != sum {
			t.Errorf("%s is not what SOURCES says", name)
		}
		if strings.HasSuffix(name, ".js") && !bytes.Contains(body, []byte("v1.6.32")) {
			t.Errorf("%s does not name its version", name)
		}
	}
	files, err := os.ReadDir("page/lib")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !named[f.Name()] {
			t.Errorf("page/lib/%s is not in SOURCES", f.Name())
		}
	}
}
