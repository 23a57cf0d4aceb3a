// Package record keeps what happened during a procedure in one append-only
// file a record, so that a crash, a full disk or a pulled plug costs at most
// the answer that was being saved.
//
// The package knows bytes, not procedures: a line carries a kind (a short word)
// and a body (any JSON). It gives no meaning to either, with one exception: the
// first line has the kind "header". It keeps no index, no cache and no second
// file that must agree with the first.
//
// Where to start: [Create] makes a record, [Open] goes on with one,
// [Log.Append] adds a line and returns only after the disk has it, [View] reads
// without touching anything, [Check] says what is wrong and what to do.
// [Place] names the folder in which records live.
//
// # Format, version 1
//
// JSON Lines, UTF-8 without a byte order mark, each line ended by one line
// feed:
//
//	{"crc":"1c2d3e4f","r":{"v":1,"id":"...","seq":14,"t":"2026-11-25T10:02:03.123+01:00","mono_ms":81234,"kind":"answered","prev":"0badf00d","body":{...}}}
//
// The keys stand in this order and nothing else stands between them; a line
// written in another way is a damaged line. crc is CRC-32C (the Castagnoli
// polynomial, RFC 3720 appendix B.4) over the bytes of r as they stand in the
// file, in eight lower-case hex digits. seq is the number of the line, from 1.
// prev is the crc of the line before, 00000000 in the first. id is random. t is
// the wall clock with its offset, in milliseconds; mono_ms counts milliseconds
// since the record was opened and can't be set back. Lines are in the order of
// seq, whatever the clock says. The body of the header is a [Header].
//
// # What a reader does
//
//   - Bytes behind the last sound line that are no sound line themselves, and
//     fill at most one line, are a torn tail: an append that was cut off.
//     [Open] moves them to NAME.torn-TIME and cuts the file; [View] names them.
//   - A sound last line that lacks only its line feed is kept.
//   - A bad line with more behind it is damage. Nothing is cut; lines behind it
//     are shown as unverified; [Open] refuses.
//   - A byte order mark, carriage returns and empty lines come from editors and
//     mail programs. The checksums still hold, so the record reads as before.
//     [Open] refuses until [Repair] has put back the plain form: a file that
//     something else rewrites must not be written to at the same time, and the
//     user should learn of it.
//   - A line of a later format is shown as far as it can be read, and [Open]
//     refuses. Unknown kinds are no concern of this package: they are kept.
//
// # What is assumed about the disk
//
// A synced byte stays unless the disk is damaged; an append that was not synced
// may be there in part, in whole, or not at all; a rename within one folder is
// either done or not. After a failed sync nothing is assumed: the file is read
// again, its sound lines go into a new file, and the old one is kept. (A second
// sync may report success for data that are gone: Rebello et al., "Can
// applications recover from fsync failures?", USENIX ATC 2020.)
//
// Folders can't be synced on Windows, and a rename over an existing file is not
// promised to be atomic there. After a power cut a record that was created in
// the last moments may be missing as a whole; a record that was there keeps
// every acknowledged line.
//
// # Lock
//
// One writer at a time, held by an advisory lock on NAME.lock (flock or
// LockFileEx). The system lifts it when the process ends, however it ends. The
// lock file belongs to this machine, holds a process number and a time, is
// removed on [Log.Close] and never handed on. Where the file system has no
// locks, NAME.held is created exclusively instead, with a warning in
// [Log.Warnings]. Reading needs no lock.
//
// # Privacy
//
// Folders are made with mode 0700, files with 0600. A record holds no host name
// and no account name.
//
// # Failpoints
//
// [Failpoints] lists the places at which a test can kill the process. They are
// part of every build, so that what is tested is what is shipped, and asleep
// unless [WithFailpoint] is given a name (the program passes on the variable
// DROPWALK_FAILPOINT). All that a failpoint can do is end the process there, and
// that is safe by the very design that it tests.
package record
