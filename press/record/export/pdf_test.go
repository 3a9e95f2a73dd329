package export_test

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/photo"
)

// record.pdf is one as ISO 32000 wants it on the outside: its header, its pages,
// the place of its table of objects, its end. It is dated with the end of the run.
func TestPaper(t *testing.T) {
	var picture bytes.Buffer
	must(t, png.Encode(&picture, image.NewRGBA(image.Rect(0, 0, 40, 30))))
	source, folder := night(), t.TempDir()
	for range 4 {
		p, err := photo.Keep(folder, source.run.ID, "edge.png", bytes.NewReader(picture.Bytes()))
		must(t, err)
		source.outcomes[1].Photos = append(source.outcomes[1].Photos, p)
	}
	source.outcomes[1].Notes = "a sled 🛷 of birch"
	where, err := export.Export(t.Context(), source, "last", t.TempDir(), export.Options{Photos: folder})
	must(t, err)
	body, err := os.ReadFile(filepath.Join(where, "record.pdf"))
	must(t, err)
	text := string(body)
	if !strings.HasPrefix(text, "%PDF-1.") || !strings.HasSuffix(strings.TrimSpace(text), "%%EOF") {
		t.Errorf("it begins %q", text[:8])
	}
	if pages := len(regexp.MustCompile(`/Type /Page\b`).FindAllString(text, -1)); pages < 2 || pages > 4 {
		t.Errorf("%d pages", pages)
	}
	_, tail, _ := strings.Cut(text, "startxref")
	at, err := strconv.Atoi(strings.Fields(tail)[0])
	must(t, err)
	if !strings.HasPrefix(text[at:], "xref") {
		t.Errorf("there is no table of objects at %d", at)
	}
	if !strings.Contains(text, "/CreationDate (D:20261025073000") {
		t.Error("it is not dated with the end of the run")
	}
	if pictures := strings.Count(text, "/Subtype /Image"); pictures < 2 {
		t.Errorf("%d pictures: the chart and a photo are wanted", pictures)
	}
}
