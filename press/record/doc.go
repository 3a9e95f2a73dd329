// Package record keeps what happened to every run in one SQLite file, so that
// a power cut at any moment costs two minutes of samples and not a single event.
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
// Runs that are over have a life of their own: what came out of the bag
// ([Store.PutOutcome]), which questions about it are open ([Store.Questions]) and
// were asked ([Store.Ask]), and which runs wait for the build log
// ([Store.Unlogged], [Store.Logged]). The command line writes these, and only
// these, beside the daemon, with [OpenBeside]. Photos are files in a folder beside
// the record (package photo).
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
// With [Options.Ramdisk] full buckets wait in a file there too, so that a daemon
// that is killed finds them again and Flush may be long.
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
// A run of 48 hours at 10 Hz takes 1.5 MB (1.4 at 1 Hz: the buckets are the same).
// What writing it costs was measured by TestFlashWear (tag full) on ext4 on a loop
// device, counting what the device was given, the file and ext4's own journal
// included: 0.87 MB an hour when everything is pushed out every ten seconds of the
// run, as a system with dirty pages of its own would; 0.28 when the kernel
// gathers writes as it likes. At a flush every thirty seconds it is 2.4 MB an hour,
// at three minutes 0.63, at an hour on a ramdisk 0.10. SQLite's own part is 0.39, by TestTwoDaysAtTenHertz. Each
// event costs more: some 15 to 20 kB, an estimate from the pages that it touches.
// Several presses share their flushes. Linux 6, SQLite by modernc.org/sqlite 1.62 with
// fdatasync.
//
// TestKilledAtAnyMoment and TestPowerCut stop a writer 200 times each (tag
// full), one by a signal, one by stopping its file system dead: after each the
// record opens, every acknowledged event is there once and no sample is counted
// twice.
package record
