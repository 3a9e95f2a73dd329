package export

import (
	"bytes"
	_ "embed"
	"html/template"
)

//go:embed record.html.tmpl
var htmlText string

// html writes record.html: one file with everything to look at in it, that
// needs no network and prints.
func (t *told) html() ([]byte, error) {
	tmpl, err := template.New("record.html").Parse(htmlText)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = tmpl.Execute(&b, struct {
		page
		Chart template.HTML
	}{t.page(), template.HTML(t.svg())}) //nolint:gosec // our own drawing, escaped where it was made
	return b.Bytes(), err
}
