package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// A sitting has a journal of its own from its first moment to its last: a file beside the database, a JSON object to a
// line, that gets every entry and every input at once, whatever the database is doing. It is deleted when all that is in it
// is in the database; if the program ends before that, the next one takes in what is missing there. So nothing that was
// said to be kept hangs on the database: not while another program holds it, not while its disk is full or it is damaged, and
// not in the moment between two commits.
//
// Each bundle is one write, and what has been written survives the program, however it ends. That it survives the machine
// too takes a sync, which may take longer than the 50 ms that an entry has. In a healthy state the database syncs each of its
// commits, a few milliseconds later; so the journal is synced only while the database is behind, by a goroutine that
// nothing waits for.

const (
	// journalRetry is the wait before a folder that could not be written is tried again.
	journalRetry = 100 * time.Millisecond

	// behindAfter is how long the database may keep an entry waiting before the journal is synced in its place.
	behindAfter = 25 * time.Millisecond

	// reserve is how much of the disk is taken ahead of time, so that a disk that fills up does not stop the journal. A
	// sitting of ten minutes has about half as much to say.
	reserve = 1 << 20
)

// How the files are called. One that has been begun, and has no sitting in it yet, is nobody's.
const (
	journalSuffix = ".jsonl"
	begunSuffix   = ".begun"
)

// journal is the file of one sitting, or several: where a folder cannot be written any more, the next has what follows.
type journal struct {
	folders []string // in the order in which they are tried
	uid     string
	header  []byte // line that every file begins with

	mu    sync.Mutex
	files []*journalFile // by folder; nil: none yet
	retry []time.Time    // by folder: not to be tried before
}

// journalFile is one file, open and locked: whoever finds it locked knows that its sitting goes on.
type journalFile struct {
	file     *os.File
	name     string
	size     int64 // of the whole lines in it; what follows was not written in full
	reserved int64
	dirty    bool // since the last sync
}

func newJournal(folders []string, uid string, sitting *Sitting) *journal {
	return &journal{
		folders: folders, uid: uid, header: lineOf(line{UID: uid, Sitting: &header{Sitting: *sitting}}),
		files: make([]*journalFile, len(folders)), retry: make([]time.Time, len(folders)),
	}
}

// write adds lines, in the first folder that takes them. Without lines it only sees to it that there is a file.
func (j *journal) write(lines []byte) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	errs := make([]error, 0, len(j.folders))
	for i := range j.folders {
		if time.Now().Before(j.retry[i]) {
			errs = append(errs, fmt.Errorf("%s could not be written a moment ago", j.folders[i]))
			continue
		}
		err := j.writeIn(i, lines)
		if err == nil {
			return nil
		}
		j.retry[i] = time.Now().Add(journalRetry)
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

func (j *journal) writeIn(i int, lines []byte) error {
	if f := j.files[i]; f != nil {
		return f.append(lines)
	}
	f, err := createJournal(j.folders[i], j.uid)
	if err != nil {
		return err
	}
	if err := f.append(slices.Concat(j.header, lines)); err != nil {
		return errors.Join(err, f.remove()) // a file without a sitting is of no use to anybody
	}
	whole := strings.TrimSuffix(f.name, begunSuffix)
	if err := os.Rename(f.name, whole); err != nil {
		return errors.Join(err, f.remove())
	}
	f.name = whole
	j.files[i] = f
	return nil
}

func createJournal(folder, uid string) (*journalFile, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	if !private(folder) {
		return nil, fmt.Errorf("others have access to %s", folder)
	}
	name := filepath.Join(folder, time.Now().UTC().Format("20060102-150405")+"-"+uid+journalSuffix+begunSuffix)
	file, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	f := &journalFile{file: file, name: name}
	if free, err := lockAlone(file); err != nil || !free {
		return nil, errors.Join(fmt.Errorf("%s cannot be locked", name), err, f.remove())
	}
	return f, nil
}

// append writes lines after those that are there whole: what a full disk has cut off is written over.
func (f *journalFile) append(lines []byte) error {
	if len(lines) == 0 {
		return nil
	}
	if f.reserved < f.size+int64(len(lines))+reserve/2 {
		ahead := int64(len(lines)) + reserve
		f.reserved = f.size + ahead
		reserveSpace(f.file, f.size, ahead) // without it the journal is as good as the disk is empty
	}
	if _, err := f.file.WriteAt(lines, f.size); err != nil {
		f.file.Truncate(f.size)
		return err
	}
	f.size += int64(len(lines))
	f.dirty = true
	return nil
}

// sync waits until all that has been written is on the disk.
func (j *journal) sync() error {
	j.mu.Lock()
	var dirty []*os.File
	for _, f := range j.files {
		if f != nil && f.dirty {
			f.dirty = false
			dirty = append(dirty, f.file)
		}
	}
	j.mu.Unlock() // writing goes on meanwhile
	var errs []error
	for _, file := range dirty {
		errs = append(errs, file.Sync())
	}
	return errors.Join(errs...)
}

// names gives the files that there are.
func (j *journal) names() (names []string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, f := range j.files {
		if f != nil {
			names = append(names, f.name)
		}
	}
	return names
}

// close closes the files, and deletes them if nothing in them is wanted any more.
func (j *journal) close(wanted bool) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	var errs []error
	for i, f := range j.files {
		switch {
		case f == nil:
		case wanted:
			f.file.Truncate(f.size) // gives back what was reserved
			errs = append(errs, f.file.Sync(), f.file.Close())
		default:
			errs = append(errs, f.remove())
		}
		j.files[i] = nil
	}
	return errors.Join(errs...)
}

// remove deletes the file before its lock is given up, where a system can do that, so that nobody takes it in meanwhile.
func (f *journalFile) remove() error {
	err := os.Remove(f.name)
	if closed := f.file.Close(); closed != nil || err == nil {
		return closed
	}
	return os.Remove(f.name)
}
