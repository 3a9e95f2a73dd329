package export_test

import (
	"archive/zip"
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/photo"
)

// Photos go with the record, byte for byte; one that is gone leaves its small
// picture.
func TestPhotosGoAlong(t *testing.T) {
	var picture bytes.Buffer
	must(t, png.Encode(&picture, image.NewRGBA(image.Rect(0, 0, 40, 30))))
	source, folder := night(), t.TempDir()
	kept, err := photo.Keep(folder, source.run.ID, "edge.png", bytes.NewReader(picture.Bytes()))
	must(t, err)
	source.outcomes[1].Photos = append(source.outcomes[1].Photos, kept)
	options := export.Options{Photos: folder}
	dir := t.TempDir()
	where, err := export.Export(t.Context(), source, "last", dir, options)
	must(t, err)
	there, err := os.ReadFile(filepath.Join(where, "photos", "edge.png"))
	must(t, err)
	if !bytes.Equal(there, picture.Bytes()) {
		t.Error("the photo is not the same")
	}
	page, err := os.ReadFile(filepath.Join(where, "record.md"))
	must(t, err)
	for _, want := range []string{"![edge.png, a day later](photos/edge.png)", "deck.jpg. Its small picture is in record.html."} {
		if !strings.Contains(string(page), want) {
			t.Errorf("record.md does not say %q", want)
		}
	}
	sums, err := os.ReadFile(filepath.Join(where, "SHA256SUMS"))
	must(t, err)
	if !strings.Contains(string(sums), kept.SHA256+"  photos/edge.png\n") {
		t.Errorf("%s", sums)
	}
	// A second export touches nothing, and one with a photo more adds it.
	before, err := os.Stat(filepath.Join(where, "photos", "edge.png"))
	must(t, err)
	must(t, os.RemoveAll(filepath.Join(where, "photos")))
	_, err = export.Export(t.Context(), source, "last", dir, options)
	must(t, err)
	after, err := os.Stat(filepath.Join(where, "photos", "edge.png"))
	must(t, err)
	if before.Size() != after.Size() {
		t.Error("the photo did not come back whole")
	}
	var archive bytes.Buffer
	name, err := export.Zip(t.Context(), source, "last", &archive, options)
	must(t, err)
	files, err := zip.NewReader(bytes.NewReader(archive.Bytes()), int64(archive.Len()))
	must(t, err)
	if _, err := files.Open(name + "/photos/edge.png"); err != nil {
		t.Error(err)
	}
}
