package config

import (
	"fmt"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// document is the file as it was written: every key and every table header in
// order, with its line. The decoder's own structs have forgotten both.
type document struct {
	entries []entry
	lines   map[string]int // path -> line

	newlines []int          // offsets in the text
	counts   map[string]int // path of a list -> tables seen
}

// entry is one key with its value, or one table header.
type entry struct {
	path string   // with the index in each list: press[0].sensor[1].driver
	keys []string // without: press, sensor, driver
	line int
	kind unstable.Kind // of the value, or Table or ArrayTable of a header
	text string        // the value as decoded; empty for tables and lists
}

// readDocument walks through text that the decoder has found to be TOML.
func readDocument(data []byte) *document {
	d := &document{lines: map[string]int{}, counts: map[string]int{}}
	for i, b := range data {
		if b == '\n' {
			d.newlines = append(d.newlines, i)
		}
	}
	var p unstable.Parser
	p.Reset(data)
	var at entry // the table we are in
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			at = d.header(e)
		case unstable.KeyValue:
			d.keyValue(at, e)
		default: // a comment
		}
	}
	return d
}

// line returns the line of the entry at path, or of the nearest table around
// it, 0 when the file does not speak of it at all.
func (d *document) line(path string) int {
	for path != "" {
		if line, ok := d.lines[path]; ok {
			return line
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return 0
}

// has reports whether the file sets the key at path.
func (d *document) has(path string) bool {
	_, ok := d.lines[path]
	return ok
}

func (d *document) add(e entry) {
	d.entries = append(d.entries, e)
	if _, ok := d.lines[e.path]; !ok {
		d.lines[e.path] = e.line
	}
}

// header takes a [table] or [[table]]. A list on the way stands for its newest
// table.
func (d *document) header(n *unstable.Node) entry {
	e := entry{kind: n.Kind}
	keys, line := d.keys(n)
	for i, key := range keys {
		e.path = join(e.path, key)
		e.keys = append(e.keys, key)
		last := i == len(keys)-1
		if last && n.Kind == unstable.ArrayTable {
			d.counts[e.path]++
		}
		if c := d.counts[e.path]; c > 0 {
			e.path = fmt.Sprintf("%s[%d]", e.path, c-1)
		}
	}
	e.line = line
	d.add(e)
	return e
}

func (d *document) keyValue(at entry, n *unstable.Node) {
	keys, line := d.keys(n)
	e := entry{path: at.path, line: line}
	e.keys = append(e.keys, at.keys...)
	for _, key := range keys {
		e.path = join(e.path, key)
		e.keys = append(e.keys, key)
	}
	d.value(e, n.Value())
}

// value takes what stands behind a key, and what is inside it.
func (d *document) value(e entry, v *unstable.Node) {
	e.kind = v.Kind
	if v.Kind != unstable.Array && v.Kind != unstable.InlineTable {
		e.text = string(v.Data)
	}
	d.add(e)
	i := 0
	for it := v.Children(); it.Next(); {
		switch n := it.Node(); {
		case v.Kind == unstable.InlineTable:
			d.keyValue(e, n)
		case v.Kind == unstable.Array && n.Kind == unstable.InlineTable:
			d.value(entry{path: fmt.Sprintf("%s[%d]", e.path, i), keys: e.keys, line: e.line}, n)
		}
		i++
	}
}

func (d *document) keys(n *unstable.Node) (keys []string, line int) {
	for it := n.Key(); it.Next(); {
		k := it.Node()
		if len(keys) == 0 {
			line = sort.SearchInts(d.newlines, int(k.Raw.Offset)) + 1
		}
		keys = append(keys, string(k.Data))
	}
	return keys, line
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
