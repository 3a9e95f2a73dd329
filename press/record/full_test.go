//go:build full

package record_test

const (
	lives = 200 // how often the victim is killed
	flips = 500 // how often the file is damaged at random
)
