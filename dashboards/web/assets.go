package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"sync"
)

//go:embed page
var page embed.FS

// asset is one file of the page, ready to be sent.
type asset struct {
	kind, etag string
	body, thin []byte // as it is, and gzipped when that is smaller
}

// assets serves the embedded files. Browsers ask each time whether theirs is
// still right, so that an update of the daemon is an update of the page.
type assets map[string]asset

// pageAssets prepares the files once: they never change while the binary runs.
//
//nolint:gochecknoglobals // immutable, like the embedded files themselves.
var pageAssets = sync.OnceValue(newAssets)

func newAssets() assets {
	all := make(assets)
	err := fs.WalkDir(page, "page", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		body, err := page.ReadFile(name)
		if err != nil {
			return err
		}
		all[strings.TrimPrefix(name, "page")] = newAsset(name, body)
		return nil
	})
	if err != nil { // the files are part of the binary
		panic("read the embedded page: " + err.Error())
	}
	all["/"] = all["/index.html"]
	return all
}

func newAsset(name string, body []byte) asset {
	sum := sha256.Sum256(body)
	a := asset{kind: contentType(name), etag: `"` + hex.EncodeToString(sum[:8]) + `"`, body: body}
	var thin bytes.Buffer
	z, _ := gzip.NewWriterLevel(&thin, gzip.BestCompression) // the level is valid
	_, _ = z.Write(body)                                     // into memory
	_ = z.Close()
	if thin.Len() < len(body)*9/10 {
		a.thin = thin.Bytes()
	}
	return a
}

// contentType does not ask the machine's own table, which differs from one
// system to the next.
func contentType(name string) string {
	switch ext := path.Ext(name); ext {
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".html":
		return "text/html; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	case ".webmanifest":
		return "application/manifest+json"
	default:
		if kind := mime.TypeByExtension(ext); kind != "" {
			return kind
		}
		return "text/plain; charset=utf-8"
	}
}

func (all assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a, ok := all[r.URL.Path]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", a.etag)
	h.Add("Vary", "Accept-Encoding")
	if r.Header.Get("If-None-Match") == a.etag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", a.kind)
	body := a.body
	if a.thin != nil && takesGzip(r) {
		h.Set("Content-Encoding", "gzip")
		body = a.thin
	}
	if r.Method != http.MethodHead {
		_, _ = w.Write(body) // the client may be gone
	}
}
