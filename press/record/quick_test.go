//go:build !full

package record_test

const (
	lives = 10 // how often the victim is killed
	flips = 10 // how often the file is damaged at random
)
