package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/record"
)

// picture is red on the left and blue on the right.
func picture(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{R: 255, A: 255}
			if x >= w/2 {
				c = color.RGBA{B: 255, A: 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

// jpegWith is a JPEG with an Exif segment that has the orientation and nothing
// else, in either order of bytes.
func jpegWith(t testing.TB, m image.Image, orientation uint16, order binary.AppendByteOrder) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	head := "MM\x00*"
	if order.String() == "LittleEndian" {
		head = "II*\x00"
	}
	exif := order.AppendUint32([]byte("Exif\x00\x00"+head), 8)
	exif = order.AppendUint16(exif, 1)
	exif = order.AppendUint16(order.AppendUint16(exif, 0x0112), 3)
	exif = order.AppendUint16(order.AppendUint32(exif, 1), orientation)
	exif = append(exif, 0, 0, 0, 0, 0, 0)
	segment := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(exif)+2)) //nolint:gosec // short
	return append(append(append([]byte{}, b.Bytes()[:2]...), append(segment, exif...)...), b.Bytes()[2:]...)
}

func keep(t *testing.T, folder, name string, body []byte) record.Photo {
	t.Helper()
	p, err := Keep(folder, "shed-1", name, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A picture taken with the phone upright is stored lying on its side: 6 is "the
// 0th row is the right-hand side" (CIPA DC-008), so what is left in the file is
// at the top for people.
func TestThumbnailsStandUpright(t *testing.T) {
	for orientation, red := range map[uint16]image.Point{
		1: {40, 60}, 2: {280, 60}, 3: {280, 60}, 4: {40, 60}, 5: {60, 40}, 6: {60, 40}, 7: {60, 280}, 8: {60, 280},
	} {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			body := jpegWith(t, picture(640, 240), orientation, order)
			p := keep(t, t.TempDir(), "deck.jpg", body)
			m, err := jpeg.Decode(bytes.NewReader(p.Thumb))
			if err != nil {
				t.Fatal(err)
			}
			w, h := 320, 120
			if orientation >= 5 {
				w, h = h, w
			}
			if m.Bounds().Dx() != w || m.Bounds().Dy() != h || p.Width*h != p.Height*w {
				t.Errorf("orientation %d: thumbnail %v of %d × %d", orientation, m.Bounds(), p.Width, p.Height)
			}
			if r, _, b, _ := m.At(red.X, red.Y).RGBA(); r < 0xd000 || b > 0x3000 {
				t.Errorf("orientation %d: at %v it is not red", orientation, red)
			}
		}
	}
}

// A picture that tells nothing but how it is turned is kept as it is, and once.
func TestKeptAsItIsAndOnce(t *testing.T) {
	folder := t.TempDir()
	body := jpegWith(t, picture(64, 32), 3, binary.BigEndian)
	other := jpegWith(t, picture(32, 64), 3, binary.BigEndian)
	first, again, second := keep(t, folder, "a/b/deck 1.jpg", body), keep(t, folder, "deck 1.jpg", body), keep(t, folder, "deck 1.jpg", other)
	if first.Name != "deck-1.jpg" || again.Name != first.Name || second.Name != "deck-1-2.jpg" {
		t.Errorf("names %q, %q, %q", first.Name, again.Name, second.Name)
	}
	there, err := os.ReadFile(Path(folder, "shed-1", first.Name))
	if err != nil || !bytes.Equal(there, body) || first.Bytes != int64(len(body)) || len(first.SHA256) != 64 {
		t.Errorf("%v, %d bytes, %+v", err, len(there), first)
	}
	if p := Path(folder, "../../etc", "../passwd"); !strings.HasPrefix(p, folder+string(os.PathSeparator)) || strings.Contains(p, "..") {
		t.Errorf("a name leads out of the folder: %s", p)
	}
}

func TestRefused(t *testing.T) {
	var blank bytes.Buffer
	if err := png.Encode(&blank, image.NewNRGBA(image.Rect(0, 0, 9, 9))); err != nil {
		t.Fatal(err)
	}
	keep(t, t.TempDir(), "clear.png", blank.Bytes())
	huge := bytes.Clone(blank.Bytes())
	copy(huge[16:], []byte{0, 0, 0x40, 0, 0, 0, 0x40, 0}) // 16384 × 16384
	for name, body := range map[string][]byte{
		"text": []byte("no picture"), "cut off": blank.Bytes()[:40], "huge": huge, "long": make([]byte, MostBytes+1),
	} {
		folder := t.TempDir()
		if _, err := Keep(folder, "r", name, bytes.NewReader(body)); !errors.Is(err, ErrRefused) {
			t.Errorf("%s: %v", name, err)
		}
		if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
			t.Errorf("%s: something was kept: %v, %v", name, left, err)
		}
	}
}

func FuzzOrientation(f *testing.F) {
	f.Add(jpegWith(f, picture(8, 8), 6, binary.LittleEndian))
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x0eExif\x00\x00II*\x00\xff\xff"))
	f.Fuzz(func(t *testing.T, body []byte) {
		if o := orientation(body); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
	})
}
