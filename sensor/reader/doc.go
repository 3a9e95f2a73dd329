// Package reader reads all parts of one press, each at its own pace, and makes
// one stream of samples of them.
//
// A [Group] runs one goroutine a part. A part that fails is closed and opened
// again, after a time that grows with each failure; one that hangs is closed,
// which frees those that can be freed, and until it returns it hangs alone. No
// part stops another one, nor the daemon.
//
// The part that reads the bag leads: each of its readings becomes a sample, to
// which the newest reading of every other part is added, unless it is too old.
// When it falls silent samples go on at the same pace, with the bag missing. A
// reading of the bag is never given twice.
//
// A quantity that should be there and is not has its Silent remark. A gauge
// part's bag pressure is corrected with the barometer. When the barometer
// falls silent its last reading is kept for [HoldAmbient], remarked as silent
// and assumed, because the air moves by less than 0.2 kPa in nearly every hour
// and a press without any room pressure could not be watched at all; after
// that, or without a barometer, the room is at the configured station pressure,
// or the standard atmosphere.
package reader
