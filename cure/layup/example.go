package layup

import _ "embed"

//go:embed example.toml
var example []byte

// Example is a whole lay-up file with every key explained.
func Example() []byte { return append([]byte(nil), example...) }
