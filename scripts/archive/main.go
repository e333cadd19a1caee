// Command archive packs files for others to download, so that the same files always give the same bytes: entries stand in the order
// given, nobody owns them, and all of them have the same time, that of SOURCE_DATE_EPOCH (seconds since 1970, as the convention of
// reproducible builds has it).
//
//	archive OUT.tar.gz|OUT.zip FOLDER FILE...
//
// Each FILE is a path, or NAME=PATH where it is to be called otherwise; a file that can be run here can be run there.
package main

import (
	"archive/tar"
	"archive/zip"
	"compress/flate"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

func main() {
	if err := run(os.Args[1:], os.Getenv("SOURCE_DATE_EPOCH")); err != nil {
		fmt.Fprintln(os.Stderr, "archive:", err)
		os.Exit(1)
	}
}

// packer takes in one file after the other.
type packer interface {
	add(name string, mode os.FileMode, body []byte, at time.Time) error
	Close() error
}

func run(args []string, epoch string) (err error) {
	if len(args) < 3 {
		return errors.New("write OUT.tar.gz or OUT.zip, then the folder inside it, then the files")
	}
	seconds, err := strconv.ParseInt(epoch, 10, 64)
	if err != nil {
		return fmt.Errorf("SOURCE_DATE_EPOCH is %q, and not the seconds since 1970", epoch)
	}
	at := time.Unix(seconds, 0).UTC()
	out, err := os.Create(args[0])
	if err != nil {
		return err
	}
	defer func() {
		err = errors.Join(err, out.Close())
		if err != nil {
			os.Remove(args[0])
		}
	}()
	p, err := newPacker(args[0], out)
	if err != nil {
		return err
	}
	for _, file := range args[2:] {
		name, from, named := strings.Cut(file, "=")
		if !named {
			name, from = filepath.Base(file), file
		}
		info, err := os.Stat(from)
		if err != nil {
			return err
		}
		body, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		mode := os.FileMode(0o644)
		if info.Mode()&0o100 != 0 {
			mode = 0o755
		}
		if err := p.add(path.Join(args[1], name), mode, body, at); err != nil {
			return err
		}
	}
	return p.Close()
}

func newPacker(name string, w io.Writer) (packer, error) {
	switch {
	case strings.HasSuffix(name, ".zip"):
		z := zip.NewWriter(w)
		z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
		return zipped{z}, nil
	case strings.HasSuffix(name, ".tar.gz"):
		g, err := gzip.NewWriterLevel(w, gzip.BestCompression)
		if err != nil {
			return nil, err
		}
		return tarred{tar.NewWriter(g), g}, nil
	}
	return nil, fmt.Errorf("%s: only .zip and .tar.gz are known", name)
}

type zipped struct{ *zip.Writer }

func (z zipped) add(name string, mode os.FileMode, body []byte, at time.Time) error {
	head := zip.FileHeader{Name: name, Method: zip.Deflate, Modified: at}
	head.SetMode(mode)
	w, err := z.CreateHeader(&head)
	if err != nil {
		return err
	}
	_, err = w.Write(body)
	return err
}

type tarred struct {
	*tar.Writer
	zip *gzip.Writer
}

func (t tarred) add(name string, mode os.FileMode, body []byte, at time.Time) error {
	head := tar.Header{Typeflag: tar.TypeReg, Name: name, Mode: int64(mode), Size: int64(len(body)), ModTime: at, Format: tar.FormatUSTAR}
	if err := t.WriteHeader(&head); err != nil {
		return err
	}
	_, err := t.Write(body)
	return err
}

func (t tarred) Close() error { return errors.Join(t.Writer.Close(), t.zip.Close()) }
