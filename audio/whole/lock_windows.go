package whole

import (
	"io/fs"
	"os"
)

// lock does nothing: a file that is open cannot be deleted here.
func lock(*os.File) {}

// owned reports whether a file belongs to this user. Access goes by lists here; whoever may delete it may.
func owned(fs.FileInfo) bool { return true }

// abandoned reports whether nobody is writing a file: deleting it fails if somebody is.
func abandoned(string, fs.FileInfo, bool) bool { return true }
