package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"slices"
	"strings"
	"testing"
)

const secret = "59.91N 10.75E, owner"

// segment is one of a JPEG.
func segment(marker byte, data string) []byte {
	head := binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(data)+2)) //nolint:gosec // short
	return append(head, data...)
}

// chunk is one of a PNG.
func chunk(kind, data string) []byte {
	out := append(binary.BigEndian.AppendUint32(nil, uint32(len(data))), kind+data...) //nolint:gosec // short
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

func TestNothingIsToldBesideThePicture(t *testing.T) {
	turned := jpegWith(t, picture(64, 32), 6, binary.LittleEndian)
	for _, s := range [][]byte{
		segment(0xe1, "http://ns.adobe.com/xap/1.0/\x00"+secret), segment(0xed, "Photoshop 3.0\x00"+secret),
		segment(0xfe, secret), segment(0xe2, "MPF\x00"+secret), segment(0xe5, secret), segment(0xe0, "JFXX\x00"+secret),
	} {
		turned = slices.Insert(turned, 2, s...)
	}
	turned = append(turned, turned...) // phones put further pictures behind the first
	colours := segment(0xe2, "ICC_PROFILE\x00\x01\x01the colours")
	turned = slices.Insert(turned, 2, colours...)

	var encoded bytes.Buffer
	if err := png.Encode(&encoded, picture(64, 32)); err != nil {
		t.Fatal(err)
	}
	plain := encoded.Bytes()
	text := slices.Insert(bytes.Clone(plain), 33, slices.Concat(chunk("tEXt", "Author\x00"+secret), chunk("eXIf", secret), chunk("tIME", "1234567"))...)
	text = append(text, secret...)

	folder := t.TempDir()
	for name, body := range map[string][]byte{"turned.jpg": turned, "text.png": text} {
		p := keep(t, folder, name, body)
		there, err := os.ReadFile(Path(folder, "shed-1", p.Name))
		if err != nil || bytes.Contains(there, []byte(secret)) {
			t.Errorf("%s: %v, it tells all the same: %q", name, err, there)
		}
		if p.Bytes != int64(len(there)) {
			t.Errorf("%s: %d bytes are kept, %d noted", name, len(there), p.Bytes)
		}
		if !samePixels(t, there, body) {
			t.Errorf("%s: the picture is another one", name)
		}
		if strings.HasSuffix(name, "jpg") && (orientation(there) != 6 || !bytes.Contains(there, colours)) {
			t.Errorf("%s: it lost its orientation, %d, or its colours", name, orientation(there))
		}
		if name == "text.png" && !bytes.Equal(there, plain) {
			t.Errorf("%s: more was taken out than what does not belong to it", name)
		}
		if again := bare(there); !bytes.Equal(again, there) {
			t.Errorf("%s: bare twice is not the same", name)
		}
	}
}

func samePixels(t *testing.T, a, b []byte) bool {
	t.Helper()
	first, _, err1 := image.Decode(bytes.NewReader(a))
	second, _, err2 := image.Decode(bytes.NewReader(b))
	if err1 != nil || err2 != nil || first.Bounds() != second.Bounds() {
		t.Errorf("%v, %v", err1, err2)
		return false
	}
	for y := range first.Bounds().Dy() {
		for x := range first.Bounds().Dx() {
			if first.At(x, y) != second.At(x, y) {
				return false
			}
		}
	}
	return true
}

// A WebP by the words of RFC 9649: an extended header that announces metadata.
func TestWebPIsLaidBare(t *testing.T) {
	part := func(kind, data string) string {
		size := binary.LittleEndian.AppendUint32(nil, uint32(len(data))) //nolint:gosec // short
		return kind + string(size) + data + strings.Repeat("\x00", len(data)%2)
	}
	whole := func(parts ...string) string {
		body := "WEBP" + strings.Join(parts, "")
		return "RIFF" + string(binary.LittleEndian.AppendUint32(nil, uint32(len(body)))) + body //nolint:gosec // short
	}
	picture := part("VP8L", "the picture")
	got := bare([]byte(whole(part("VP8X", "\x1c\x00\x00\x00\x08\x00\x00\x08\x00\x00"), picture, part("EXIF", secret), part("XMP ", secret+"!"))))
	if want := whole(part("VP8X", "\x10\x00\x00\x00\x08\x00\x00\x08\x00\x00"), picture); string(got) != want {
		t.Errorf("%q\nwant\n%q", got, want)
	}
}

func FuzzBare(f *testing.F) {
	f.Add(jpegWith(f, picture(8, 8), 6, binary.LittleEndian))
	f.Add([]byte(pngSignature + string(chunk("IHDR", "0123456789abc")) + string(chunk("IEND", ""))))
	f.Add([]byte(pngSignature + "\xff\xff\xff\xf4tEXt12345678")) // less than nothing, where an int has 32 bits
	f.Add([]byte("RIFF\xff\xff\xff\xffWEBPEXIF\xff\xff\xff\xf7123456789"))
	f.Add([]byte("RIFF\x10\x00\x00\x00WEBPVP8X\x04\x00\x00\x00\x0c\x00\x00\x00"))
	f.Fuzz(func(t *testing.T, body []byte) {
		once := bare(body)
		if twice := bare(once); !bytes.Equal(once, twice) {
			t.Errorf("%q laid bare is %q, and again %q", body, once, twice)
		}
		if about, err := jpeg.DecodeConfig(bytes.NewReader(body)); err != nil || about.Width*about.Height > 4096 || len(body) > 4096 {
			return // no picture, or one that takes long
		}
		if m, err := jpeg.Decode(bytes.NewReader(body)); err == nil {
			if n, err := jpeg.Decode(bytes.NewReader(once)); err != nil || n.Bounds() != m.Bounds() {
				t.Errorf("it can no longer be read: %v", err)
			}
		}
	})
}
