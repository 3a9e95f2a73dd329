package photo

import (
	"encoding/binary"
	"image"
)

// turn is how a picture must be turned to stand upright: the Orientation tag of
// Exif (CIPA DC-008, 4.6.5), 1 to 8. A camera that was held upright writes its
// rows as they come and leaves the turning to the reader.
type turn int

// swaps reports whether height and width change places.
func (t turn) swaps() bool { return t >= 5 }

// upright turns the picture.
func (t turn) upright(from *image.RGBA) image.Image {
	if t <= 1 {
		return from
	}
	w, h := from.Rect.Dx(), from.Rect.Dy()
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	if t.swaps() {
		to = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range to.Rect.Dy() {
		for x := range to.Rect.Dx() {
			to.SetRGBA(x, y, from.RGBAAt(t.source(x, y, w, h)))
		}
	}
	return to
}

// source is where a pixel of the upright picture stands in the stored one, of
// width w and height h.
func (t turn) source(x, y, w, h int) (int, int) {
	switch t {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// orientation reads the tag of a JPEG; 1 where there is none, or it makes no
// sense.
func orientation(body []byte) turn {
	for at := 2; at+4 <= len(body) && body[at] == 0xff; {
		marker, size := body[at+1], int(binary.BigEndian.Uint16(body[at+2:]))
		if marker == 0xda || size < 2 || at+2+size > len(body) {
			break
		}
		if data := body[at+4 : at+2+size]; marker == 0xe1 && len(data) > 6 && string(data[:6]) == "Exif\x00\x00" {
			return fromExif(data[6:])
		}
		at += 2 + size
	}
	return 1
}

// fromExif looks into the first directory of a TIFF header.
func fromExif(b []byte) turn {
	if len(b) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if b[0] == 'I' {
		order = binary.LittleEndian
	}
	const entry, tag, short = 12, 0x0112, 3
	at := int64(order.Uint32(b[4:]))
	if at+2 > int64(len(b)) {
		return 1
	}
	list := b[at+2:]
	for range int(order.Uint16(b[at:])) {
		if len(list) < entry {
			return 1
		}
		if order.Uint16(list) == tag && order.Uint16(list[2:]) == short {
			if v := order.Uint16(list[8:]); v >= 1 && v <= 8 {
				return turn(v)
			}
			return 1
		}
		list = list[entry:]
	}
	return 1
}
