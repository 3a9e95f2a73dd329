// Command fetchlib fetches the libraries that the page and its tests hold from
// the npm registry again, checks the package against its published integrity,
// and says whether the committed files are its files. It is for whoever
// updates one; nothing else needs the network. Which registry is asked does not
// matter: the integrity is held here.
//
//	go run ./dashboards/web/fetchlib -registry "$(npm config get registry)" dashboards/web          # check
//	go run ./dashboards/web/fetchlib -registry "$(npm config get registry)" -write dashboards/web   # put the files in place
package main

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// library is a package of the registry and where its files belong.
type library struct {
	name, version, integrity string
	files                    map[string]string // path in the package -> path in the folder
}

func libraries() []library {
	return []library{
		{
			"uplot", "1.6.32", "sha512-KIMVnG68zvu5XXUbC4LQEPnhwOxBuLyW1AHtpm6IKTXImkbLgkMy+jabjLgSLMasNuGGzQm/ep3tOkyTxpiQIw==",
			map[string]string{
				"package/dist/uPlot.iife.min.js": "page/lib/uPlot.js",
				"package/dist/uPlot.min.css":     "page/lib/uPlot.css",
				"package/LICENSE":                "page/lib/LICENSE.uPlot",
			},
		},
		{
			"axe-core", "4.14.1", "sha512-FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ==",
			map[string]string{
				"package/axe.min.js":            "testdata/axe/axe.js",
				"package/LICENSE":               "testdata/axe/LICENSE",
				"package/LICENSE-3RD-PARTY.txt": "testdata/axe/LICENSE-3RD-PARTY.txt",
			},
		},
	}
}

func main() {
	write := flag.Bool("write", false, "put the files in place instead of comparing them")
	registry := flag.String("registry", os.Getenv("npm_config_registry"), "`URL` of an npm registry")
	flag.Parse()
	if err := run(*registry, flag.Arg(0), *write); err != nil {
		fmt.Fprintln(os.Stderr, "fetchlib:", err)
		os.Exit(1)
	}
}

func run(registry, dir string, write bool) error {
	if registry == "" || dir == "" {
		return errors.New("want -registry URL (npm config get registry) and the folder dashboards/web")
	}
	for _, lib := range libraries() {
		files, err := fetch(registry, lib)
		if err != nil {
			return fmt.Errorf("%s %s: %w", lib.name, lib.version, err)
		}
		for from, to := range lib.files {
			if err := settle(filepath.Join(dir, to), files[from], write); err != nil {
				return fmt.Errorf("%s %s: %s: %w", lib.name, lib.version, from, err)
			}
		}
		fmt.Println(lib.name, lib.version, "is as published")
	}
	return nil
}

func settle(path string, body []byte, write bool) error {
	if body == nil {
		return errors.New("not in the package")
	}
	if write {
		return os.WriteFile(path, body, 0o644) //nolint:gosec // for everybody to read
	}
	have, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(have, body) {
		return fmt.Errorf("%s differs from the package's file", path)
	}
	return nil
}

// fetch returns the files of a package whose bytes have the integrity that was
// published for it.
func fetch(registry string, lib library) (map[string][]byte, error) {
	client := http.Client{Timeout: time.Minute}
	resp, err := client.Get(fmt.Sprintf("%s/%s/-/%[2]s-%s.tgz", strings.TrimSuffix(registry, "/"), lib.name, lib.version)) //nolint:noctx,gosec // a command of one request, to the registry that its caller names
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	const most = 64 << 20
	packed, err := io.ReadAll(io.LimitReader(resp.Body, most))
	if err != nil {
		return nil, err
	}
	sum := sha512.Sum512(packed)
	if got := "sha512-" + base64.StdEncoding.EncodeToString(sum[:]); got != lib.integrity {
		return nil, fmt.Errorf("the package (HTTP %s) has integrity %s, want %s", resp.Status, got, lib.integrity)
	}
	return unpack(packed)
}

func unpack(packed []byte) (map[string][]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	files := make(map[string][]byte)
	for entries := tar.NewReader(z); ; {
		entry, err := entries.Next()
		if errors.Is(err, io.EOF) {
			return files, nil
		}
		if err != nil {
			return nil, err
		}
		if files[entry.Name], err = io.ReadAll(entries); err != nil { //nolint:gosec // its integrity was checked
			return nil, err
		}
	}
}
