package course

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"hornlark/drill/library"
)

// unpacked is a course of some files.
func unpacked(t testing.TB, items ...item) *Course {
	t.Helper()
	c, err := Unpack("x.zip", packed(t, items...), heard)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// second is another version of the course.
func second(t testing.TB) *Course {
	return unpacked(t, item{name: library.ManifestFile, body: strings.Replace(manifest, `"1.0"`, `"2.0"`, 1)}, item{name: "sub/one.yaml", body: strings.Replace(one, "title: One", "title: Another", 1)})
}

// A course that is installed is found by its names, is the user's alone, is replaced when that is asked for, and is gone once it is removed.
func TestShelf(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data", "courses")
	s, lib := Open(dir), builtin(t)
	title := func() string {
		t.Helper()
		laid, _ := s.Lay(lib)
		sc, err := laid.Scenario("spring-one")
		if err != nil {
			return ""
		}
		if laid.CourseOf(library.Scenario, "spring-one") != "spring" || laid.CourseOf(library.Scenario, "first-start") != "" {
			t.Error("it is not said which course a scenario is of")
		}
		return sc.Title
	}
	if list, err := s.List(); list != nil || err != nil || title() != "" {
		t.Errorf("%v, %v", list, err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Error("a folder was made for nothing")
	}
	if err := s.Add(unpacked(t, sound()...), lib, false); err != nil {
		t.Fatal(err)
	}
	if title() != "One" {
		t.Errorf("it is called %q", title())
	}
	if runtime.GOOS != "windows" {
		filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			info, err := e.Info()
			if err != nil || info.Mode().Perm()&0o077 != 0 {
				t.Errorf("%s: %v, %v", name, info.Mode(), err)
			}
			return err
		})
	}
	var taken *Taken
	if err := s.Add(second(t), lib, false); !errors.As(err, &taken) || title() != "One" {
		t.Errorf("without being asked: %v", err)
	}
	if err := s.Add(second(t), lib, true); err != nil || title() != "Another" {
		t.Errorf("once it is asked for: %v, %q", err, title())
	}
	if names, _ := os.ReadDir(dir); len(names) != 2 {
		t.Errorf("%v are left", names)
	}
	other := unpacked(t, item{name: library.ManifestFile, body: strings.Replace(manifest, "name: spring", "name: autumn", 1)}, item{name: "one.yaml", body: one})
	if err := s.Add(other, lib, false); err == nil || !strings.Contains(err.Error(), `there is another scenario "spring-one", of the course "spring"`) {
		t.Errorf("a name of another course: %v", err)
	}
	if in, found := s.Find("spring-one"); !found || in.Name != "spring" {
		t.Error("its course is not found by a scenario")
	}
	var unknown *Unknown
	if err := s.Remove("autumn"); !errors.As(err, &unknown) || !strings.Contains(err.Error(), "installed: spring") {
		t.Errorf("%v", err)
	}
	if err := s.Remove("spring"); err != nil || title() != "" {
		t.Errorf("%v", err)
	}
	if names, _ := os.ReadDir(dir); len(names) != 0 {
		t.Errorf("%v are left", names)
	}
}

// A course that somebody has changed is left out, whatever was changed; that is said in a line, and to whoever looks for what is not
// there; everything else goes on, and adding it again puts it right.
func TestChangedCourses(t *testing.T) {
	lib := builtin(t)
	for name, spoil := range map[string]func(dir, folder string) error{
		"a document changed": func(_, folder string) error {
			return os.WriteFile(filepath.Join(folder, "one.yaml"), []byte(one+"\n"), 0o600)
		},
		"a document gone": func(_, folder string) error { return os.Remove(filepath.Join(folder, "one.yaml")) },
		"a document added": func(_, folder string) error {
			return os.WriteFile(filepath.Join(folder, "two.yaml"), []byte(one), 0o600)
		},
		"a document that is a link": func(_, folder string) error {
			path := filepath.Join(folder, "one.yaml")
			return errors.Join(os.Rename(path, folder+"-moved"), os.Symlink(folder+"-moved", path))
		},
		"the folder gone":    func(_, folder string) error { return os.RemoveAll(folder) },
		"the receipt broken": func(dir, _ string) error { return os.WriteFile(filepath.Join(dir, "spring.json"), []byte("{"), 0o600) },
		"the receipt leads elsewhere": func(dir, folder string) error {
			path := filepath.Join(dir, "spring.json")
			body, err := os.ReadFile(path)
			return errors.Join(err, os.WriteFile(path, []byte(strings.Replace(string(body), filepath.Base(folder), "../../etc", 1)), 0o600))
		},
		"the receipt names a file outside": func(dir, _ string) error {
			path := filepath.Join(dir, "spring.json")
			body, err := os.ReadFile(path)
			return errors.Join(err, os.WriteFile(path, []byte(strings.Replace(string(body), `"one.yaml"`, `"../../one.yaml"`, 1)), 0o600))
		},
		"the receipt is a folder": func(dir, _ string) error {
			path := filepath.Join(dir, "spring.json")
			return errors.Join(os.Remove(path), os.Mkdir(path, 0o700))
		},
	} {
		dir := t.TempDir()
		s := Open(dir)
		if err := s.Add(unpacked(t, sound()...), lib, false); err != nil {
			t.Fatal(err)
		}
		folders, err := filepath.Glob(filepath.Join(dir, "spring.*[0-9a-f]"))
		if err != nil || len(folders) != 1 {
			t.Fatalf("%v, %v", folders, err)
		}
		if err := spoil(dir, folders[0]); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		laid, list := s.Lay(lib)
		if len(laid.Asides()) != 1 || !strings.HasPrefix(laid.Asides()[0], "the course spring is left out: ") || strings.Contains(laid.Asides()[0], "\n") || len(list) != 1 || list[0].Broken == "" {
			t.Errorf("%s: it says %q", name, laid.Asides())
		}
		if _, err := laid.Scenario("spring-one"); err == nil || !strings.Contains(err.Error(), "the course spring is left out: ") {
			t.Errorf("%s: whoever looks for it reads %v", name, err)
		}
		if _, err := laid.Resolve("first-start"); err != nil {
			t.Errorf("%s: something else does not go on: %v", name, err)
		}
		if name == "the receipt is a folder" {
			continue // nothing is renamed into the place of somebody's folder
		}
		if err := s.Add(unpacked(t, sound()...), lib, false); err != nil {
			t.Errorf("%s: it cannot be put right: %v", name, err)
		} else if laid, _ := s.Lay(lib); len(laid.Asides()) != 0 {
			t.Errorf("%s: put right, it says %q", name, laid.Asides())
		}
	}
}

// A course that fitted once and does not any more, because something that is built in has its names now, is left out in a line.
func TestCourseThatNoLongerFits(t *testing.T) {
	dir, lib := t.TempDir(), builtin(t)
	s := Open(dir)
	c := unpacked(t, sound()...)
	if err := s.Add(c, lib, false); err != nil {
		t.Fatal(err)
	}
	taken, checked := lib.WithCourse("newer", c.documents(func(name string) string { return name }))
	if len(checked) != 1 || len(checked[0].Problems) > 0 {
		t.Fatal(checked)
	}
	laid, _ := s.Lay(taken)
	if len(laid.Asides()) != 1 || !strings.Contains(laid.Asides()[0], "it does not fit with what there is") {
		t.Errorf("it says %q", laid.Asides())
	}
}

// What a kill has left is taken away, once nobody can be at it any more, and nothing else.
func TestSweeping(t *testing.T) {
	dir, lib := t.TempDir(), builtin(t)
	s := Open(dir)
	long := time.Now().Add(-2 * leftFor)
	for _, name := range []string{".part-0123456789abcdef", "spring.0123456789abcdef", "notes", ".part-x", ".part-1123456789abcdef"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o700); err != nil {
			t.Fatal(err)
		}
		if name != ".part-1123456789abcdef" {
			if err := os.Chtimes(filepath.Join(dir, name), long, long); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := s.Add(unpacked(t, sound()...), lib, false); err != nil {
		t.Fatal(err)
	}
	for name, stays := range map[string]bool{".part-0123456789abcdef": false, "spring.0123456789abcdef": false, "notes": true, ".part-x": true, ".part-1123456789abcdef": true} {
		if _, err := os.Stat(filepath.Join(dir, name)); (err == nil) != stays {
			t.Errorf("%s stays: %v", name, err == nil)
		}
	}
}

// adderVariable has the test's own program put two versions of a course into each other's place, until it is killed.
const adderVariable = "HORNLARK_TEST_ADDS"

func addForEver(folder string) {
	var t testing.T
	lib, err := library.Builtin()
	if err != nil {
		os.Exit(1)
	}
	versions := []*Course{unpacked(&t, sound()...), second(&t)}
	for i := 0; ; i++ {
		if err := Open(folder).Add(versions[i%2], lib, true); err != nil {
			os.Exit(1)
		}
	}
}

// Whoever is killed while a course is replaced leaves the old or the new one, whole.
func TestKilledWhileAdding(t *testing.T) {
	if testing.Short() {
		t.Skip("it starts processes")
	}
	dir, lib := t.TempDir(), builtin(t)
	s := Open(dir)
	if err := s.Add(unpacked(t, sound()...), lib, false); err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	left := 0
	for i := range 12 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), adderVariable+"="+dir)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Each kill comes a little later in the round than the one before, from when something has happened on.
		was := receiptAt(dir)
		for began := time.Now(); receiptAt(dir) == was && time.Since(began) < 30*time.Second; {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(time.Duration(i) * 700 * time.Microsecond)
		cmd.Process.Kill()
		if err := cmd.Wait(); cmd.ProcessState.Exited() {
			t.Fatalf("it ended by itself: %v", err)
		}
		list, err := s.Verify()
		if err != nil || len(list) != 1 || list[0].Broken != "" {
			t.Fatalf("after kill %d: %+v, %v", i, list, err)
		}
		seen[list[0].Version]++
		names, _ := os.ReadDir(dir)
		left = max(left, len(names)-2)
		if laid, _ := s.Lay(lib); len(laid.Asides()) > 0 {
			t.Errorf("after kill %d: %q", i, laid.Asides())
		}
	}
	if len(seen) != 2 {
		t.Errorf("only %v were there: the kills do not come at different moments", seen)
	}
	t.Logf("versions that were there: %v; at most %d others were left", seen, left)
}

// receiptAt is when the receipt was written.
func receiptAt(dir string) time.Time {
	info, err := os.Stat(filepath.Join(dir, "spring.json"))
	if err != nil {
		return time.Time{}
	}
	return info.ModTime()
}
