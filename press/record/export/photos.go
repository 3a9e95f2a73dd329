package export

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path"

	"github.com/nightclamp/nightclamp/press/record/photo"
)

// photoFolder is the folder of the pictures in the folder of a run.
const photoFolder = "photos"

// findPhotos looks for the pictures beside the record, by name. One that is gone,
// or is another than it was, is left out; its small one is in the record.
func (t *told) findPhotos(folder string) {
	t.photos = map[string]string{}
	if folder == "" {
		return
	}
	for _, o := range t.outcomes {
		for _, p := range o.Photos {
			file := photo.Path(folder, t.run.ID, p.Name)
			if sum, err := fileDigest(file); err == nil && sum == p.SHA256 {
				t.photos[p.Name] = file
			}
		}
	}
}

// photoFiles are the pictures as files of the folder.
func (t *told) photoFiles() []file {
	var files []file
	for _, o := range t.outcomes {
		for _, p := range o.Photos {
			if from := t.photos[p.Name]; from != "" {
				files = append(files, file{name: path.Join(photoFolder, p.Name), from: from, sum: p.SHA256})
			}
		}
	}
	return files
}

func fileDigest(path string) (string, error) {
	f, err := os.Open(path) //nolint:gosec // a file of the record's, or of the folder that the user names
	if err != nil {
		return "", err
	}
	defer f.Close() //nolint:errcheck // it was only read
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}
