// Package record keeps what happened to every run in one SQLite file, so that
// a power cut at any moment costs seconds of samples and not a single event.
//
// # Use
//
// The daemon calls [Open] once and is the only writer. It hands every sample
// to [Store.AddSample], which thins it, and what a sample caused to
// [Store.Commit]: events, the changed run, alerts and the messages that go out
// for them, in one transaction that is on the disk when Commit returns.
// [Store.PutRun], [Store.AddEvents], [Store.PutAlert] and [Store.Enqueue] are
// the same thing for one kind. Everything may be handed in twice: a run and an
// alert are replaced, an event and a delivery that are there already are
// ignored. The command line reads beside the daemon with [OpenReadOnly].
//
// # Samples
//
// Samples are thinned into buckets of ten seconds with the lowest, mean and
// highest value of each quantity ([Thin]); a spike is never averaged away. A
// bucket also ends when the machine boots or its clock is stepped. Buckets are
// numbered in the order in which they were taken, and a sample is in exactly
// one: after a crash a new bucket begins, even in the middle of ten seconds.
// Full buckets are written every two minutes of sample time; a Commit, a Flush
// and Close write the one that is being filled too.
//
// To pick a run up again, feed [Store.Samples] back into the engine.
// [Store.Newest] says when recording stopped, and by which clock.
//
// # Safety
//
// SQLite runs with a write-ahead log and synchronous=FULL: a transaction is
// fsynced before it is acknowledged. The file is checked when it is opened.
// With [Options.SetAside] a damaged file is renamed to NAME.corrupt-TIME, what
// can be read is carried over into a new one ([Store.Aside] tells how much) and
// the daemon goes on watching; without it Open fails with [ErrCorrupt].
//
// [Store.Backup] copies the record while it is written, and [Store.Restore] puts
// a copy in its place. Nothing is ever deleted: what a restore replaces and
// what is damaged stays beside the record under another name.
//
// # What it costs
//
// A run of 48 hours at 10 Hz takes 1.5 MB. What writing it costs was measured on
// ext4 on a loop device, counting what the device was given, ext4's own journal
// included: 1.3 MB an hour when everything is pushed out after each flush, of
// which SQLite wrote 0.85 (its log, the index of the log, the file); 0.44 when
// the kernel gathers writes as it likes. At a flush every thirty seconds it is
// 4.4 MB an hour, at three minutes 1.0. Several presses share their flushes.
// TestTwoDaysAtTenHertz (tag full) holds the size and SQLite's part.
//
// TestKilledAtAnyMoment and TestPowerCut stop a writer 200 times each (tag
// full), one by a signal, one by stopping its file system dead: after each the
// record opens, every acknowledged event is there once and no sample is counted
// twice.
package record
