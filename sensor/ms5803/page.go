package ms5803

import _ "embed"

//go:embed README.md
var page string

// Page is what a person needs to know about the part, in Markdown: wiring, config,
// first reading, range and noise, traps.
func (Config) Page() string { return page }
