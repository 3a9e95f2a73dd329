// Package photo keeps pictures of a blank as files beside the record, and makes
// the small ones that go into it.
//
//	p, err := photo.Keep(photo.Folder(store.Path()), run.ID, "deck.jpg", file)
//	outcome.Photos = append(outcome.Photos, p)
//
// A picture is kept pixel by pixel as it came, but without what the camera wrote
// beside it: a record may go into a build log that anybody reads, and a phone writes
// where and when it was taken. The small one is upright.
package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	_ "image/png" // a format that is read
	"io"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp" // a format that is read

	"github.com/nightclamp/nightclamp/press/record"
)

// The bounds of what is taken: more than a phone makes, less than a small board
// can hold while it makes the small picture.
const (
	MostBytes  = 20 << 20
	mostPixels = 50e6
	thumbSide  = 320 // pixels, of the longer side
	quality    = 75
)

// ErrRefused is the cause of every picture that cannot be taken as it is.
var ErrRefused = errors.New("the picture is not taken")

// Folder is where the pictures of a record lie.
func Folder(recordPath string) string { return filepath.Join(filepath.Dir(recordPath), "photos") }

// Path is where a picture of a run lies.
func Path(folder, run, name string) string { return filepath.Join(folder, safe(run), safe(name)) }

// Keep writes a picture (JPEG, PNG or WebP), laid bare, into the folder of its run. The same
// picture again is kept once; another of the same name gets a name of its own.
func Keep(folder, run, name string, in io.Reader) (record.Photo, error) {
	body, err := io.ReadAll(io.LimitReader(in, MostBytes+1))
	if err != nil {
		return record.Photo{}, fmt.Errorf("read the picture %s: %w", name, err)
	}
	body = bare(body)
	p, err := describe(body)
	if err != nil {
		return record.Photo{}, fmt.Errorf("%w: %s: %w", ErrRefused, name, err)
	}
	dir := filepath.Join(folder, safe(run))
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return record.Photo{}, fmt.Errorf("the folder for photos: %w", err)
	}
	p.Name, err = place(dir, safe(filepath.Base(name)), p.SHA256, body)
	return p, err
}

// Take copies a picture that came with another board's record. One that is not
// there, or is not the one that is meant, is passed over: false.
func Take(folder, run string, p record.Photo, from string) (bool, error) {
	body, err := os.ReadFile(from) //nolint:gosec // the user names the folder
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("take in a photo: %w", err)
	}
	if sum := sha256.Sum256(body); hex.EncodeToString(sum[:]) != p.SHA256 || safe(p.Name) != p.Name {
		return false, nil
	}
	dir := filepath.Join(folder, safe(run))
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return false, fmt.Errorf("the folder for photos: %w", err)
	}
	return true, write(filepath.Join(dir, p.Name), body)
}

// describe looks at a picture and makes the small one.
func describe(body []byte) (record.Photo, error) {
	if len(body) > MostBytes {
		return record.Photo{}, fmt.Errorf("it has more than %d MB", MostBytes>>20)
	}
	about, _, err := image.DecodeConfig(bytes.NewReader(body))
	if err != nil {
		return record.Photo{}, fmt.Errorf("save it as JPEG, PNG or WebP first: %w", err)
	}
	if about.Width*about.Height > mostPixels {
		return record.Photo{}, fmt.Errorf("it has %d × %d pixels: make it smaller first", about.Width, about.Height)
	}
	whole, _, err := image.Decode(bytes.NewReader(body))
	if err != nil {
		return record.Photo{}, fmt.Errorf("it is damaged: %w", err)
	}
	turn := orientation(body)
	width, height := about.Width, about.Height
	if turn.swaps() {
		width, height = height, width
	}
	var thumb bytes.Buffer
	if err := jpeg.Encode(&thumb, turn.upright(shrink(whole)), &jpeg.Options{Quality: quality}); err != nil {
		return record.Photo{}, err
	}
	sum := sha256.Sum256(body)
	return record.Photo{
		SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(body)), Width: width, Height: height, Thumb: thumb.Bytes(),
	}, nil
}

// shrink makes a picture no larger than a thumbnail, on white where it is clear.
func shrink(from image.Image) *image.RGBA {
	b := from.Bounds()
	longer := max(b.Dx(), b.Dy())
	w, h := b.Dx(), b.Dy()
	if longer > thumbSide {
		w, h = max(1, w*thumbSide/longer), max(1, h*thumbSide/longer)
	}
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(to, to.Bounds(), image.White, image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(to, to.Bounds(), from, b, draw.Over, nil)
	return to
}

// place writes the file under its name, or under one beside it when that is
// another picture's.
func place(dir, name, sum string, body []byte) (string, error) {
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for n := 1; ; n++ {
		try := name
		if n > 1 {
			try = fmt.Sprintf("%s-%d%s", stem, n, ext)
		}
		there, err := os.ReadFile(filepath.Join(dir, try)) //nolint:gosec // a folder of ours, a name made safe
		switch {
		case errors.Is(err, os.ErrNotExist):
			return try, write(filepath.Join(dir, try), body)
		case err != nil:
			return "", fmt.Errorf("look at the photos there are: %w", err)
		}
		if other := sha256.Sum256(there); hex.EncodeToString(other[:]) == sum {
			return try, nil
		}
	}
}

// write makes the file whole before it gets its name.
func write(path string, body []byte) (err error) {
	draft, err := os.CreateTemp(filepath.Dir(path), ".draft-*")
	if err != nil {
		return fmt.Errorf("keep the photo: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("keep the photo: %w", err), os.Remove(draft.Name()))
		}
	}()
	_, err = draft.Write(body)
	if err = errors.Join(err, draft.Sync(), draft.Chmod(0o640), draft.Close()); err != nil {
		return err
	}
	return os.Rename(draft.Name(), path)
}

// safe keeps a name to what every file system takes.
func safe(name string) string {
	name = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '-'
	}, name)
	if len(name) > 100 {
		name = name[len(name)-100:]
	}
	if name = strings.TrimLeft(name, ".-"); name == "" {
		return "photo"
	}
	return name
}
