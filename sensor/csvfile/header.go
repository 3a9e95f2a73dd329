package csvfile

import (
	"bytes"
	"slices"
	"strings"
)

// A column of the file, by what it holds.
type column int

const (
	colTime column = iota
	colBag
	colVacuum
	colAmbient
	colGlueline
	colAir
	colHumidity
	columns
	colSkip = columns // of no use here
)

var names = [columns]string{"time", "bag_pa", "vacuum_pa", "ambient_pa", "glueline_c", "air_c", "humidity_pct"} //nolint:gochecknoglobals // a constant

func known() string { return "the known columns are " + strings.Join(names[:], ", ") }

// readHeader reads the line that names the columns.
func (r *Reader) readHeader() error {
	line, err := r.nextLine()
	if err != nil {
		return err
	}
	line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
	if bytes.HasPrefix(line, []byte{0xff, 0xfe}) || bytes.HasPrefix(line, []byte{0xfe, 0xff}) {
		return r.fail("", "", "the file is UTF-16", "save it as UTF-8")
	}
	kept := bytes.Contains(line, []byte("bag_mean_pa"))
	for cell := range bytes.SplitSeq(line, []byte{','}) {
		name := string(unquote(bytes.TrimSpace(cell)))
		if kept {
			name = ofRecord(name)
		}
		c := slices.Index(names[:], name)
		switch {
		case kept && c < 0:
			r.layout = append(r.layout, colSkip)
			continue
		case c < 0 && strings.ContainsAny(name, ";\t"):
			return r.fail("", name, "is not a list of columns", "separate columns by commas and write decimals with a point")
		case c < 0:
			return r.fail("", name, "is no column that can be read", known())
		case slices.Contains(r.layout, column(c)):
			return r.fail(name, "", "is there twice", "leave one of them out")
		}
		r.layout = append(r.layout, column(c))
	}
	return r.checkLayout()
}

// ofRecord is the name here of a column of the samples.csv of a press record, of which
// the means are read: bag_mean_pa is bag_pa. Its vacuum is that of bag and room.
func ofRecord(name string) string {
	if name == "vacuum_mean_pa" {
		return ""
	}
	return strings.Replace(name, "_mean_", "_", 1)
}

func (r *Reader) checkLayout() error {
	has := func(c column) bool { return slices.Contains(r.layout, c) }
	switch {
	case !has(colTime):
		return r.fail("time", "", "is missing", known())
	case has(colBag) && has(colVacuum):
		return r.fail("vacuum_pa", "", "is there besides bag_pa", "keep the one that was measured")
	case !has(colBag) && !has(colVacuum):
		return r.fail("bag_pa", "", "is missing", "give bag_pa (absolute) or vacuum_pa (room minus bag)")
	}
	r.gauge, r.barometer = has(colVacuum), has(colAmbient)
	return nil
}

// unquote takes the quotes off a cell that is quoted as a whole.
func unquote(cell []byte) []byte {
	if len(cell) >= 2 && cell[0] == '"' && cell[len(cell)-1] == '"' {
		return cell[1 : len(cell)-1]
	}
	return cell
}
