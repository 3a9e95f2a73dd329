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

// The files of libraries are those of the versions that SOURCES names, byte by
// byte; the sums were taken from the npm packages, whose own integrity stands
// there too (fetchlib makes both again).
func TestLibrariesAreWhatTheySay(t *testing.T) {
	for dir, version := range map[string]string{"page/lib": "v1.6.32", "testdata/axe": "v4.14.1", "testdata/openapi": ""} {
		t.Run(dir, func(t *testing.T) { library(t, dir, version) })
	}
}

func library(t *testing.T, dir, version string) {
	sources, err := os.ReadFile(filepath.Join(dir, "SOURCES"))
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
		body, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Error(err)
			continue
		}
		if got := sha256.Sum256(body); hex.EncodeToString(got[:]) != sum {
			t.Errorf("%s is not what SOURCES says", name)
		}
		if strings.HasSuffix(name, ".js") && !bytes.Contains(body, []byte(version)) {
			t.Errorf("%s does not name its version", name)
		}
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !named[f.Name()] {
			t.Errorf("%s/%s is not in SOURCES", dir, f.Name())
		}
	}
}
