package photo

import (
	"bytes"
	"encoding/binary"
)

// bare takes out of a picture what does not belong to it: where and when it was
// taken, with which camera, by whom, and what stands behind its end. How it is to be
// turned and its colours stay, and no pixel is touched. A file of another form is
// returned as it is.
func bare(body []byte) []byte {
	switch {
	case bytes.HasPrefix(body, []byte("\xff\xd8")):
		return bareJPEG(body)
	case bytes.HasPrefix(body, []byte(pngSignature)):
		return barePNG(body)
	case len(body) > 12 && string(body[:4]) == "RIFF" && string(body[8:12]) == "WEBP":
		return bareWebP(body)
	}
	return body
}

// Markers of a JPEG (ITU-T T.81, table B.1).
const (
	app0, app2, app14 = 0xe0, 0xe2, 0xee
	app15, comment    = 0xef, 0xfe
	startOfScan, end  = 0xda, 0xd9
	temporary         = 0x01
	restart0          = 0xd0
	restart7          = 0xd7
)

func bareJPEG(body []byte) []byte {
	out := make([]byte, 0, len(body))
	out = append(out, body[:2]...)
	turned := turnSegment(orientation(body))
	for at := 2; at+2 <= len(body); {
		marker := body[at+1]
		switch {
		case body[at] != 0xff, marker == 0xff, marker == 0: // filling, which readers step over
			at++
			continue
		case marker == end:
			return append(out, 0xff, end)
		case marker == temporary, marker >= restart0 && marker <= restart7:
			out, at = append(out, 0xff, marker), at+2
			continue
		case at+4 > len(body):
			return out
		}
		size := int(binary.BigEndian.Uint16(body[at+2:]))
		next := at + 2 + size
		if size < 2 || next > len(body) {
			return out
		}
		if marker != app0 && turned != nil {
			out, turned = append(out, turned...), nil
		}
		if marker == startOfScan {
			next += scanned(body[next:])
		}
		if belongs(marker, body[at+4:]) {
			out = append(out, body[at:next]...)
		}
		at = next
	}
	return out
}

// belongs reports whether a segment is needed to show the picture: JFIF, the colour
// profile and Adobe's mark of the colours of the segments that an application may add.
func belongs(marker byte, data []byte) bool {
	switch marker {
	case app0: // not JFXX, which is a smaller picture
		return bytes.HasPrefix(data, []byte("JFIF\x00"))
	case app14:
		return bytes.HasPrefix(data, []byte("Adobe"))
	case app2:
		return bytes.HasPrefix(data, []byte("ICC_PROFILE\x00"))
	}
	return marker != comment && (marker < app0 || marker > app15)
}

// scanned is the length of the coded picture before the next marker.
func scanned(b []byte) int {
	for i := 0; i+1 < len(b); i++ {
		if b[i] == 0xff && b[i+1] != 0 && (b[i+1] < restart0 || b[i+1] > restart7) {
			return i
		}
	}
	return len(b)
}

// turnSegment is an Exif segment that tells the orientation (Exif 2.32, tag 0x0112)
// and nothing else; nil where there is nothing to turn.
func turnSegment(t turn) []byte {
	if t == 1 {
		return nil
	}
	return append([]byte("\xff\xe1\x00\x22Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00"),
		byte(t), 0, 0, 0, 0, 0, 0)
}

const pngSignature = "\x89PNG\r\n\x1a\n"

func barePNG(body []byte) []byte {
	out := append(make([]byte, 0, len(body)), pngSignature...)
	for at := len(pngSignature); at+12 <= len(body); {
		size := binary.BigEndian.Uint32(body[at:])
		if uint64(size) > uint64(len(body)-at-12) { //nolint:gosec // it is not negative
			break
		}
		next := at + 12 + int(size) // it fits, also where an int has 32 bits
		kind := string(body[at+4 : at+8])
		switch kind {
		case "eXIf", "tEXt", "zTXt", "iTXt", "tIME":
		default:
			out = append(out, body[at:next]...)
		}
		if kind == "IEND" {
			break
		}
		at = next
	}
	return out
}

// bareWebP also takes the two marks out of the extended header that say that there
// is more than the picture (RFC 9649, section 2.7.1).
func bareWebP(body []byte) []byte {
	const exif, xmp = 0x08, 0x04
	out := append(make([]byte, 0, len(body)), body[:12]...)
	for at := 12; at+8 <= len(body); {
		size := binary.LittleEndian.Uint32(body[at+4:])
		if uint64(size) > uint64(len(body)-at-8) { //nolint:gosec // it is not negative
			break
		}
		next := min(at+8+int(size+size%2), len(body))
		switch string(body[at : at+4]) {
		case "EXIF", "XMP ":
		case "VP8X":
			from := len(out)
			out = append(out, body[at:next]...)
			if size > 0 {
				out[from+8] &^= exif | xmp
			}
		default:
			out = append(out, body[at:next]...)
		}
		at = next
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8)) //nolint:gosec // at most MostBytes
	return out
}
