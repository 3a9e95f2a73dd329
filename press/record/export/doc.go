// Package export writes the press record of one run: a folder that goes into a
// build log and can be read without nightclamp.
//
// [Export] makes a folder named after the run, with
//
//   - record.md: front matter, the story of the run in plain sentences, what was
//     asked and what happened, the events, the alerts and the cautions of the
//     adhesive's datasheet;
//   - record.html: the same with the chart in one file, to open, print or mail;
//   - record.pdf: the same on A4; left out where its writer cannot take the words;
//   - chart.svg: vacuum, floor, temperatures and events, for screens light or
//     dark and for paper, and chart.png, the light one, for places that take no
//     SVG;
//   - samples.csv: the kept samples, lowest, mean and highest of each quantity;
//   - record.json: everything but the samples, for programs; its fields are
//     described in schema.json of this package;
//   - SHA256SUMS: what the others were when they were written, as sha256sum
//     writes it.
//
// [Zip] writes the same files as one archive.
//
// The folder appears whole or not at all. The same run gives the same bytes
// again, so that a build log kept under version control shows no change where
// there is none. A file that somebody changed by hand is never overwritten: the
// sums tell. Other files in the folder, photos say, are left alone.
//
// # samples.csv
//
// One line a bucket, in the order in which they were taken. time is the mean
// time of its samples, first and last those of the outermost, RFC 3339 in UTC;
// samples is how many there were. quality adds up what was remarked about any
// of them: 1 the bag was read by a gauge part, 2 ambient was assumed, 4 bag,
// 8 ambient, 16 glue line, 32 air silent, 64 at the end of the part's range,
// 128 the clock was set. boot numbers the boots of the machine as record.json
// lists them, and mono_s is the monotonic clock of that boot at the last
// sample; both are empty where the source had none. Then come, for each of
// bag, ambient, vacuum (Pa), glueline and air (°C), the lowest, mean and highest
// reading, to the 0.1 Pa and 0.001 °C that are kept; a missing one is empty.
package export
