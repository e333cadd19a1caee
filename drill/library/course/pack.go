package course

import (
	"archive/zip"
	"io"
	"time"

	"hornlark/drill/library"
)

// packedAt is the date that every file of a package has, the first that the form has (APPNOTE 6.3.10, 4.4.6): the same course is packed
// into the same bytes whenever and wherever that is done.
var packedAt = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// Pack writes the course as a package: a zip whose files stand in the order of their names, the manifest first, with one date and one mode.
// Errors are those of the writer.
func (c *Course) Pack(w io.Writer) error {
	archive := zip.NewWriter(w)
	write := func(f entry) error {
		header := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: packedAt}
		if kindOf(f.name) == "clip" {
			header.Method = zip.Store // it is compressed already
		}
		header.SetMode(0o644)
		to, err := archive.CreateHeader(header)
		if err != nil {
			return err
		}
		_, err = to.Write(f.data)
		return err
	}
	for _, first := range []bool{true, false} {
		for _, f := range c.files {
			if (f.name == library.ManifestFile) == first {
				if err := write(f); err != nil {
					return err
				}
			}
		}
	}
	return archive.Close()
}
