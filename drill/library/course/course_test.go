package course

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill/library"
)

// The files of a small course, of fictional things.
const (
	manifest = "name: spring\ntitle: Spring refresher\nby: Skerry Sound training\nversion: \"1.0\"\nscenarios: [spring-one]\n"
	one      = "name: spring-one\ntitle: One\nabout: For tests.\nprocedure: dunlin-start\npolicy: prompted\nmap: names\nweather: {oat: 12, pressure_altitude: 50}\npass: {right: 1}\n"
)

// heard looks at what is heard as the program does.
var heard = Sounds{
	Lexicon: func(data []byte) error { return voice.CheckLexicon(data, Lexicon) },
	Tones:   tone.Check,
	Clip:    voice.CheckClip,
}

// item is an entry of a package that is made for a test.
type item struct {
	name   string
	body   string
	mode   fs.FileMode
	method uint16
	flags  uint16
}

// packed makes a package by hand, with whatever names and modes.
func packed(t testing.TB, items ...item) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, it := range items {
		h := &zip.FileHeader{Name: it.name, Method: zip.Deflate, Flags: it.flags}
		if it.mode != 0 {
			h.SetMode(it.mode)
		}
		f, err := w.CreateHeader(h)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(it.name, "/") {
			continue // a folder holds nothing
		}
		if _, err := io.WriteString(f, it.body); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	data := b.Bytes()
	// What the writer does not write is set in both of its headers (APPNOTE 6.3.10, 4.3.7 and 4.3.12).
	for _, it := range items {
		for _, h := range []struct {
			sign                string
			flags, method, name int
		}{{"PK\x03\x04", 6, 8, 30}, {"PK\x01\x02", 8, 10, 46}} {
			for at := 0; ; at++ {
				next := bytes.Index(data[at:], []byte(h.sign))
				if next < 0 {
					break
				}
				if at += next; bytes.HasPrefix(data[at+h.name:], []byte(it.name)) {
					if it.method != 0 {
						binary.LittleEndian.PutUint16(data[at+h.method:], it.method)
					}
					if it.flags != 0 {
						binary.LittleEndian.PutUint16(data[at+h.flags:], binary.LittleEndian.Uint16(data[at+h.flags:])|it.flags)
					}
				}
			}
		}
	}
	return data
}

// sound is the two files that make a course.
func sound(more ...item) []item {
	return append([]item{{name: library.ManifestFile, body: manifest}, {name: "one.yaml", body: one}}, more...)
}

func builtin(t testing.TB) *library.Library {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

// What arrives and should not is refused, and what is wrong is said: names that leave the folder, links and devices, names that are one on
// some systems, names of devices, files of other kinds, and more bytes than there may be, whatever the header says of them.
func TestHostilePackages(t *testing.T) {
	var many []item
	for i := range MaxEntries {
		many = append(many, item{name: fmt.Sprintf("d/%d.yaml", i), body: "a: 1"})
	}
	var large []item
	for i := range MaxBytes/library.MaxFile + 1 {
		large = append(large, item{name: fmt.Sprintf("d/%d.yaml", i), body: strings.Repeat("#", library.MaxFile)})
	}
	lying := packed(t, sound(item{name: "two.yaml", body: strings.Repeat("#", library.MaxFile+1)})...)
	// It says that it holds ten bytes.
	at := bytes.LastIndex(lying, []byte("PK\x01\x02"))
	binary.LittleEndian.PutUint32(lying[at+24:], 10)

	long := strings.Repeat("n", MaxPath) + ".yaml"
	for _, c := range []struct {
		name string
		data []byte
		says string
	}{
		{"absolute", packed(t, sound(item{name: "/etc/x.yaml", body: one})...), "no name within a folder"},
		{"parent", packed(t, sound(item{name: "../x.yaml", body: one})...), "leads out of its folder"},
		{"parent inside", packed(t, sound(item{name: "a/../../x.yaml", body: one})...), "leads out of its folder"},
		{"here", packed(t, sound(item{name: "./x.yaml", body: one})...), "leads out of its folder"},
		{"nothing between", packed(t, sound(item{name: "a//x.yaml", body: one})...), "leads out of its folder"},
		{"backslash", packed(t, sound(item{name: `..\x.yaml`, body: one})...), "no name within a folder"},
		{"drive", packed(t, sound(item{name: "C:x.yaml", body: one})...), "no name within a folder"},
		{"stream", packed(t, sound(item{name: "x.yaml:y.yaml", body: one})...), "no name within a folder"},
		{"parent folder", packed(t, sound(item{name: "../", mode: fs.ModeDir | 0o755})...), "leads out of its folder"},
		{"link", packed(t, sound(item{name: "x.yaml", body: "/etc/passwd", mode: fs.ModeSymlink | 0o777})...), "a link, a device"},
		{"link for the manifest", packed(t, item{name: library.ManifestFile, body: "/etc/passwd", mode: fs.ModeSymlink | 0o777}), "a link, a device"},
		{"device", packed(t, sound(item{name: "x.yaml", mode: fs.ModeDevice | 0o666})...), "a link, a device"},
		{"pipe", packed(t, sound(item{name: "x.yaml", mode: fs.ModeNamedPipe | 0o666})...), "a link, a device"},
		{"twice", packed(t, sound(item{name: "one.yaml", body: one})...), "is there twice"},
		{"capitals", packed(t, sound(item{name: "ONE.yaml", body: one})...), "in capitals alone"},
		{"capitals of folders", packed(t, sound(item{name: "a/x.yaml", body: one}, item{name: "A/y.yaml", body: one})...), "in capitals alone"},
		{"file and folder", packed(t, sound(item{name: "one.yaml/x.yaml", body: one})...), "a file and a folder"},
		{"device of Windows", packed(t, sound(item{name: "aux.yaml", body: one})...), "device on Windows"},
		{"device of Windows in a folder", packed(t, sound(item{name: "Con/x.yaml", body: one})...), "device on Windows"},
		{"device of Windows with more", packed(t, sound(item{name: "lpt1.x.yaml", body: one})...), "device on Windows"},
		{"dot at the end", packed(t, sound(item{name: "a./x.yaml", body: one})...), "not a name on every system"},
		{"blank at the end", packed(t, sound(item{name: "a /x.yaml", body: one})...), "not a name on every system"},
		{"hidden", packed(t, sound(item{name: ".x.yaml", body: one})...), "not a name on every system"},
		{"control character", packed(t, sound(item{name: "x\x1b[2J.yaml", body: one})...), "not a name on every system"},
		{"letters that are written in two ways", packed(t, sound(item{name: "é.yaml", body: one})...), "not a name on every system"},
		{"no UTF-8", packed(t, sound(item{name: "x\xff.yaml", body: one})...), "not a name on every system"},
		{"deep", packed(t, sound(item{name: "a/b/c/d/x.yaml", body: one})...), "too deep"},
		{"long", packed(t, sound(item{name: long, body: one})...), "too long a name"},
		{"a program", packed(t, sound(item{name: "run.sh", body: "#!/bin/sh"})...), "no such file"},
		{"a program that is called otherwise", packed(t, sound(item{name: "voice/run.pcm.gz", body: "#!/bin/sh"})...), "no such file"},
		{"a manifest in a folder", packed(t, sound(item{name: "a/course.yaml", body: manifest})...), "no such file"},
		{"a package in it", packed(t, sound(item{name: "more.zip", body: string(packed(t, sound()...))})...), "no such file"},
		{"encrypted", packed(t, sound(item{name: "x.yaml", body: one, flags: 1})...), "encrypted"},
		{"unknown method", packed(t, sound(item{name: "x.yaml", body: one, method: 12})...), "not known here"},
		{"many", packed(t, sound(many...)...), "files"},
		{"large", packed(t, sound(item{name: "x.yaml", body: strings.Repeat("#", library.MaxFile+1)})...), "too large"},
		{"large and lying", lying, "damaged"},
		{"large together", packed(t, sound(large...)...), "too large together"},
		{"no clip", packed(t, sound(item{name: "voice/0123456789abcdef01234567.pcm.gz", body: "this is not a clip at all"})...), "gzip"},
		{"no lexicon", packed(t, sound(item{name: Lexicon, body: "digits: [a]\n"})...), "digits"},
		{"no tones", packed(t, sound(item{name: Tones, body: "tones: {}\n"})...), "tones"},
		{"no manifest", packed(t, item{name: "one.yaml", body: one}), "nothing says what the course is"},
		{"nothing", packed(t), "nothing says what the course is"},
		{"a manifest with a slip", packed(t, item{name: library.ManifestFile, body: strings.Replace(manifest, "title", "titel", 1)}), `did you mean`},
		{"a manifest that is none", packed(t, item{name: library.ManifestFile, body: "- 1\n"}), "write fields"},
		{"a manifest with the name of a device", packed(t, item{name: library.ManifestFile, body: strings.Replace(manifest, "name: spring", "name: aux", 1)}), "device on Windows"},
		{"cut off", packed(t, sound()...)[:300], "no package"},
		{"something else", []byte("name: spring\n"), "no package"},
		{"empty", nil, "no package"},
	} {
		got, err := Unpack("x.zip", c.data, heard)
		var problems library.Problems
		if got != nil || !errors.As(err, &problems) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: it says %v, want %q", c.name, err, c.says)
			continue
		}
		for _, p := range problems {
			if !strings.HasPrefix(p.File, "x.zip") {
				t.Errorf("%s: %q is no place in the package", c.name, p.File)
			}
		}
	}
}

// What documents say has to fit with what is built in, and with the manifest; nobody's name is taken.
func TestCoursesThatDoNotFit(t *testing.T) {
	lib := builtin(t)
	for name, c := range map[string]struct{ manifest, one, says string }{
		"a name that is built in":       {strings.Replace(manifest, "[spring-one]", "[first-start]", 1), strings.Replace(one, "spring-one", "first-start", 1), `there is another scenario "first-start", which is built in`},
		"a scenario that is not there":  {strings.Replace(manifest, "[spring-one]", "[spring-one, spring-two]", 1), one, `there is no scenario "spring-two"`},
		"a scenario that is not named":  {strings.Replace(manifest, "[spring-one]", "[spring-two]", 1), one, `"spring-one" of the course is not among them`},
		"a procedure that is not there": {manifest, strings.Replace(one, "dunlin-start", "dunlin-strat", 1), `there is no procedure "dunlin-strat"`},
	} {
		got, err := Unpack("x.zip", packed(t, item{name: library.ManifestFile, body: c.manifest}, item{name: "one.yaml", body: c.one}), heard)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := got.Check(lib); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: it says %v, want %q", name, err, c.says)
		}
	}
}

// folderOf writes the files of a course into a folder, in an order and at dates of their own.
func folderOf(t *testing.T, backwards bool, more ...item) string {
	t.Helper()
	dir := t.TempDir()
	items := sound(more...)
	if backwards {
		slices.Reverse(items)
	}
	for i, it := range items {
		path := filepath.Join(dir, it.name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(it.body), 0o640); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, time.Time{}, time.Now().Add(time.Duration(i)*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// The same folder gives the same bytes, whatever the order, the dates and the modes of its files, and what other programs have left in it; the
// package has what the folder has, by the reader of another program too.
func TestPacking(t *testing.T) {
	more := []item{{name: "a b/two.yml", body: "start_from: perfect\n"}, {name: Lexicon, body: "words: {GPU: ground power}\n"}}
	var before []byte
	for _, backwards := range []bool{false, true} {
		dir := folderOf(t, backwards, more...)
		if backwards {
			os.MkdirAll(filepath.Join(dir, ".git", "refs"), 0o700)
			os.WriteFile(filepath.Join(dir, ".git", "config"), []byte("x"), 0o600)
			os.WriteFile(filepath.Join(dir, ".DS_Store"), []byte("x"), 0o600)
			os.Mkdir(filepath.Join(dir, "empty"), 0o700)
		}
		c, err := Read(dir, heard)
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Check(builtin(t)); err != nil {
			t.Error(err)
		}
		var b bytes.Buffer
		if err := c.Pack(&b); err != nil {
			t.Fatal(err)
		}
		if before != nil && !bytes.Equal(before, b.Bytes()) {
			t.Error("the same folder gives other bytes")
		}
		before = b.Bytes()
		again, err := Unpack("x.zip", before, heard)
		if err != nil {
			t.Fatal(err)
		}
		if again.Edition() != c.Edition() || !slices.EqualFunc(again.files, c.files, func(a, b entry) bool { return a.name == b.name && bytes.Equal(a.data, b.data) }) {
			t.Error("what is unpacked is not what was packed")
		}
	}
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("there is no other program to read it")
	}
	file := filepath.Join(t.TempDir(), "x.zip")
	if err := os.WriteFile(file, before, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), python, "-c", `import sys, zipfile
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
for i in z.infolist(): print(i.filename, i.date_time[0], len(z.read(i)))`, file).CombinedOutput()
	want := fmt.Sprintf("course.yaml 1980 %d\na b/two.yml 1980 20\nlexicon.yaml 1980 27\none.yaml 1980 %d\n", len(manifest), len(one))
	if err != nil || string(out) != want {
		t.Errorf("another program reads %q, %v; want %q", out, err, want)
	}
}

// Links and other things that are no files are refused in folders too.
func TestHostileFolders(t *testing.T) {
	for name, spoil := range map[string]func(dir string) error{
		"link":      func(dir string) error { return os.Symlink("/etc/passwd", filepath.Join(dir, "x.yaml")) },
		"link dir":  func(dir string) error { return os.Symlink("/etc", filepath.Join(dir, "etc")) },
		"a program": func(dir string) error { return os.WriteFile(filepath.Join(dir, "run.sh"), nil, 0o700) },
		"large": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, "x.yaml"), bytes.Repeat([]byte("#"), library.MaxFile+1), 0o600)
		},
	} {
		dir := folderOf(t, false)
		if err := spoil(dir); err != nil {
			t.Skip(err)
		}
		if c, err := Read(dir, heard); err == nil || c != nil || !strings.Contains(err.Error(), dir) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none"), heard); err == nil {
		t.Error("a folder that is not there is taken")
	}
}
