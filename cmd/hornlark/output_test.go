//go:build unix

package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// soon is a day that a plan reaches.
var soon = time.Now().AddDate(0, 0, 9).Format(time.DateOnly)

// writers are all the options that name a file to write, each in a command that is otherwise right.
var writers = []struct {
	name  string
	args  []string // the path comes last
	seeks bool     // what is written is gone back in, which a pipe cannot be
}{
	{"drill", []string{"drill", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--virtual", "--wav"}, true},
	{"replay", []string{"replay", "1", "--wav"}, true},
	{"debrief", []string{"debrief", "1", "--html"}, false},
	{"debrief reel", []string{"debrief", "1", "--reel"}, false},
	{"progress", []string{"progress", "--html"}, false},
	{"progress csv", []string{"progress", "--csv"}, false},
	{"trace csv", []string{"trace", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--csv"}, false},
	{"trace svg", []string{"trace", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--svg"}, false},
	{"preview lines", []string{"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--save"}, false},
	{"preview plot", []string{"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--svg"}, false},
	{"preview page", []string{"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--html"}, false},
	{"preview course", []string{"preview", "hover-alerts", "--course", "2", "--runs", "4", "--by", "Skerry Sound training", "--out"}, false},
	{"plan calendar", []string{"plan", "--by", soon, "--ics"}, false},
	{"plan page", []string{"plan", "--by", soon, "--html"}, false},
	{"plan plot", []string{"plan", "--by", soon, "--svg"}, false},
	{"export json", []string{"export", "--as", "json", "--out"}, false},
	{"export csv", []string{"export", "--as", "csv", "--out"}, false},
	{"export xapi", []string{"export", "--as", "xapi", "--out"}, false},
	{"list page", []string{"list", "captions", "--profile", "whinchat-pt", "--html"}, false},
	{"list schema", []string{"list", "schema", "abnormal", "--out"}, false},
	{"course pack", []string{"course", "pack", "brief-course", "--out"}, false},
	{"paper procedure", []string{"paper", "procedure", "brief", "--with", "brief", "--out"}, false},
	{"paper keyboard", []string{"paper", "keyboard", "whinchat-pt", "--out"}, false},
	{"paper key", []string{"paper", "key", "brief/scenario.yaml", "--with", "brief", "--out"}, false},
	{"draft procedure", []string{"draft", "procedure", "brief/list.txt", "--profile", "dunlin-lt", "--out"}, false},
	{"draft scenario", []string{"draft", "scenario", "--procedure", "brief", "--with", "brief", "--out"}, false},
	{"draft profile", []string{"draft", "profile", "--like", "dunlin-lt", "--name", "mine", "--out"}, false},
	{"draft profile --based-on", []string{"draft", "profile", "--based-on", "dunlin-lt", "--name", "mine", "--out"}, false},
	{"draft abnormal", []string{"draft", "abnormal", "--profile", "whinchat-pt", "--failure", "battery.hot", "--out"}, false},
}

// place is somewhere to write to.
type place struct {
	name   string
	path   string
	force  int    // status with --force
	status int    // and without
	says   string // on stderr, without
	stream bool   // nothing can be gone back in there
}

// desk is a folder to run commands in, with a sitting in its records.
type workplace struct {
	t    *testing.T
	dir  string
	data string

	carrier *carrier // nil: nothing has been carried out yet
}

func newDesk(t *testing.T) *workplace {
	d := &workplace{t: t, dir: t.TempDir()}
	d.data = filepath.Join(d.dir, "data")
	if err := os.CopyFS(filepath.Join(d.dir, "brief"), os.DirFS(filepath.Join("testdata", "brief"))); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(d.dir, "brief-course"), os.DirFS(filepath.Join("testdata", "brief-course"))); err != nil {
		t.Fatal(err)
	}
	if out, status := d.run("drill", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--silent", "--trainee", "kim"); status != exitPassed {
		t.Fatalf("the sitting: status %d\n%s", status, out)
	}
	return d
}

func (d *workplace) command(ctx context.Context, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, program(d.t), args...)
	cmd.Dir = d.dir
	cmd.Env = append([]string{"PATH=" + os.Getenv("PATH"), "HOME=" + d.dir, "HORNLARK_DATA=" + d.data, "TZ=UTC", "NO_COLOR=1",
		"XDG_CONFIG_HOME=" + filepath.Join(d.dir, "config"), "XDG_CACHE_HOME=" + filepath.Join(d.dir, "cache"), "TMPDIR=" + d.dir}, noSound(d.dir)...)
	return cmd
}

// run carries out a command, and gives what it said, on both outputs, and its status.
func (d *workplace) run(args ...string) (string, int) {
	d.t.Helper()
	out, told, status := d.carry(args...)
	return string(told) + string(out), status
}

// snapshot is every file of a folder with what is in it, links as links.
func snapshot(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		switch {
		case e.Type()&fs.ModeSymlink != 0:
			to, _ := os.Readlink(path)
			files[path] = "-> " + to
		case e.Type().IsRegular():
			body, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			files[path] = string(body)
		default:
			files[path] = e.Type().String()
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// changed lists what is not as it was. The database's helpers come and go, and so do clips that are kept for later.
func changed(before, after map[string]string) []string {
	var list []string
	for path, was := range before {
		if now, ok := after[path]; !ok {
			list = append(list, "gone: "+path)
		} else if now != was {
			list = append(list, "changed: "+path)
		}
	}
	for path := range after {
		if _, ok := before[path]; !ok {
			list = append(list, "new: "+path)
		}
	}
	slices.Sort(list)
	return slices.DeleteFunc(list, func(s string) bool {
		return strings.HasSuffix(s, "-wal") || strings.HasSuffix(s, "-shm") || strings.Contains(s, "/cache/")
	})
}

// Every output option is tried on every place: what may be written is, and otherwise nothing at all has changed. Unless HORNLARK_EVERY
// asks for all, an option is tried on the records, what is there already, and a third of the other places, and every place by a third of the options.
func TestEveryOutputInEveryPlace(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	at := func(name string) string { return filepath.Join(d.dir, name) }
	must(os.WriteFile(at("stranger.part"), []byte("a stranger's"), 0o600))
	must(os.WriteFile(at("there"), []byte("there before"), 0o640))
	must(os.Mkdir(at("folder"), 0o700))
	must(os.Symlink("there", at("link")))
	must(os.Symlink("nowhere", at("dangling")))
	must(os.Symlink("data", at("link-to-data")))
	must(os.Symlink(filepath.Join("data", "hornlark.db"), at("link-to-database")))
	must(os.Link(filepath.Join(d.data, "hornlark.db"), at("hard-link")))
	must(os.Mkdir(filepath.Join(d.data, "below"), 0o700))
	places := []place{
		{name: "a new file", path: "new"},
		{name: "the standard output", path: "-", stream: true},
		{name: "the database", path: "data/hornlark.db", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "the data folder", path: "data/new", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "below the data folder", path: "data/below/new", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "the data folder, spelt otherwise", path: "folder/../data/./new", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "the data folder by a link", path: "link-to-data/new", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "the database by a link", path: "link-to-database", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "the database by a hard link", path: "hard-link", status: exitUsage, force: exitUsage, says: "belongs to the records"},
		{name: "a file that is there", path: "there", status: exitUsage, says: "there is there already; add --force to replace it"},
		{name: "a link", path: "link", status: exitUsage, says: "add --force to replace what it leads to"},
		{name: "a link that leads nowhere", path: "dangling", status: exitUsage, force: exitUsage, says: "is a link that leads nowhere"},
		{name: "a folder", path: "folder", status: exitUsage, force: exitUsage, says: "is a folder; name a file in it"},
		{name: "no folder", path: "no/such/file", status: exitUsage, force: exitUsage, says: "make the folder first"},
		{name: "a file for a folder", path: "there/file", status: exitUsage, force: exitUsage, says: "cannot be written: not a directory"},
		{name: "a name that is too long", path: strings.Repeat("n", 300), status: exitUsage, force: exitUsage, says: "file name too long"},
		{name: "a device", path: "/dev/null"},
		{name: "a device that is full", path: "/dev/full", status: exitOther, force: exitOther, says: "no space left on device"},
		{name: "an own device", path: "device"},
		{name: "a pipe", path: "pipe", stream: true},
	}
	if runtime.GOOS != "linux" {
		places = slices.DeleteFunc(places, func(p place) bool { return p.path == "/dev/full" || p.path == "device" })
	}
	must(unix.Mkfifo(at("pipe"), 0o600))
	device := os.Getuid() == 0 && unix.Mknod(at("device"), unix.S_IFCHR|0o600, int(unix.Mkdev(1, 3))) == nil
	if !device {
		places = slices.DeleteFunc(places, func(p place) bool { return p.path == "device" })
	}
	if canMount() {
		for name, options := range map[string]string{"full": "size=4k", "read-only": "ro"} {
			must(os.Mkdir(at(name), 0o700))
			must(exec.Command("mount", "-t", "tmpfs", "-o", options, "tmpfs", at(name)).Run())
			t.Cleanup(func() { exec.Command("umount", "-l", at(name)).Run() })
		}
		places = append(places,
			place{name: "a full disk", path: "full/new", status: exitOther, force: exitOther, says: "no space left on device"},
			place{name: "a disk that cannot be written", path: "read-only/new", status: exitUsage, force: exitUsage, says: "read-only file system"})
	} else if os.Getuid() != 0 {
		must(os.Mkdir(at("read-only"), 0o500))
		places = append(places, place{name: "a folder that may not be written", path: "read-only/new", status: exitUsage, force: exitUsage, says: "see to it that you may write there"})
	}
	// What the disk is full of: without a byte of room, not even a small table goes there.
	os.WriteFile(at("full/filler"), bytes.Repeat([]byte("x"), 4096), 0o600)

	tried := 0
	dear := []string{"new", "data/hornlark.db", "there", "link", "folder"}
	for k, w := range writers {
		for n, p := range places {
			if !everyPair() && (k+n)%3 != 0 && !slices.Contains(dear, p.path) {
				continue
			}
			for _, forced := range []bool{false, true} {
				tried++
				args := append(slices.Clone(w.args), p.path)
				want := p.status
				if forced {
					args, want = append(args, "--force"), p.force
				}
				if p.stream && w.seeks {
					want = exitUsage
				}
				before := snapshot(t, d.dir)
				said, status := d.through(args, p.path == "pipe" && want == 0)
				what := w.name + " into " + p.name
				if forced {
					what += " with --force"
				}
				if status != want {
					t.Errorf("%s: status %d, want %d\n%.300s", what, status, want, said)
				}
				if want != 0 && !(p.stream && w.seeks) && !strings.Contains(said, p.says) {
					t.Errorf("%s says %.300q; want %q in it", what, said, p.says)
				}
				var may []string
				if want == 0 {
					switch p.path {
					case "new":
						may = []string{"new: " + at("new")}
					case "there", "link":
						may = []string{"changed: " + at("there")}
					}
				}
				if got := changed(before, snapshot(t, d.dir)); !slices.Equal(got, may) {
					t.Errorf("%s: %q; want %q", what, got, may)
				}
				if p.path == "there" && want == 0 {
					if info, err := os.Stat(at("there")); err != nil || info.Mode().Perm() != 0o640 {
						t.Errorf("%s: the permissions are %v, and were %v", what, info.Mode(), fs.FileMode(0o640))
					}
				}
				os.Remove(at("new"))
				must(os.WriteFile(at("there"), []byte("there before"), 0o640))
			}
		}
	}
	t.Logf("%d outputs in places were tried", tried)
}

// through runs a command. Where it writes to the pipe, somebody reads it.
func (d *workplace) through(args []string, read bool) (string, int) {
	if !read {
		return d.run(args...)
	}
	got := make(chan int, 1)
	go func() {
		body, _ := os.ReadFile(filepath.Join(d.dir, "pipe"))
		got <- len(body)
	}()
	said, status := d.run(args...)
	select {
	case n := <-got:
		if n == 0 {
			d.t.Errorf("%q: nothing came through the pipe", args)
		}
	case <-time.After(10 * time.Second):
		d.t.Errorf("%q: the pipe was not written", args)
	}
	return said, status
}

// Nobody reads the pipe, or the sitting goes on: Ctrl-C ends the command and leaves nothing.
func TestStoppedWhileItWrites(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	if err := unix.Mkfifo(filepath.Join(d.dir, "pipe"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"export", "--out", "pipe"},
		{"drill", "first-start", "--answers", "perfect", "--wav", "heard.wav", "--silent"},
	} {
		before := snapshot(t, d.dir)
		cmd := d.command(t.Context(), args...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(1500 * time.Millisecond)
		cmd.Process.Signal(os.Interrupt)
		done := make(chan error, 1)
		go func() { done <- cmd.Wait() }()
		select {
		case <-done:
		case <-time.After(10 * time.Second):
			cmd.Process.Kill()
			t.Fatalf("%q was not stopped", args)
		}
		if status := cmd.ProcessState.ExitCode(); status == 0 {
			t.Errorf("%q: status 0", args)
		}
		for _, what := range changed(before, snapshot(t, d.dir)) {
			if strings.HasSuffix(what, ".part") {
				t.Errorf("%q: %s", args, what)
			}
		}
	}
}

// What cannot be written to the standard output is told of, by every command.
func TestStandardOutputIsFull(t *testing.T) {
	t.Parallel()
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("there is no device that is full")
	}
	defer full.Close()
	d := newDesk(t)
	for _, args := range [][]string{
		{}, {"--help"}, {"--version"}, {"version"}, {"list"}, {"list", "--reveal"}, {"list", "failures", "--profile", "dunlin-lt"}, {"list", "tones", "--json"}, {"list", "fields"}, {"show", "first-start"}, {"check", "brief"}, {"check", "brief", "--json"}, {"check", "--sheet", "dunlin-lt"},
		{"drill", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--virtual"},
		{"drill", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--virtual", "--json"},
		{"list", "schema", "scenario"}, {"list", "fields", "--html", "-"},
		{"trace", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--csv", "-"},
		{"trace", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--svg", "-"},
		{"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1"}, {"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--save", "-"},
		{"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--html", "-"}, {"preview", "brief/scenario.yaml", "--with", "brief", "--runs", "1", "--svg", "-"},
		{"debrief"}, {"debrief", "--json"}, {"debrief", "--html", "-"}, {"debrief", "--reel", "-"}, {"replay"}, {"progress"}, {"progress", "--html", "-"}, {"progress", "--csv", "-"}, {"ready", "--trainee", "kim"}, {"ready", "--trainee", "kim", "--json"},
		{"export"}, {"export", "--as", "csv"}, {"export", "--as", "xapi"}, {"export", "--schema"}, {"export", "--out", "exported.json"},
		{"import", "exported.json"}, {"voice", "words", "NR 100 %"}, {"voice", "render"}, {"phrases"}, {"completion", "bash"}, {"__complete", "show", ""},
		{"course"}, {"course", "check", "brief-course"}, {"course", "pack", "brief-course", "--out", "-"}, {"course", "list"}, {"course", "list", "--json"}, {"course", "add", "brief-course", "--force"}, {"course", "remove", "brief-course"},
		{"paper"}, {"paper", "procedure", "dunlin-hover"}, {"paper", "keyboard", "whinchat-pt", "--keyboard", "dvorak"}, {"paper", "key", "brief/scenario.yaml", "--with", "brief"},
		{"draft"}, {"draft", "procedure", "brief/list.txt", "--profile", "dunlin-lt"}, {"draft", "scenario", "--procedure", "dunlin-start"}, {"draft", "profile", "--like", "dunlin-lt", "--name", "mine"}, {"draft", "abnormal", "--profile", "dunlin-lt", "--failure", "gen1.failed"},
		{"forget", "kim", "--yes"},
	} {
		cmd := d.command(t.Context(), args...)
		var said bytes.Buffer
		cmd.Stdout, cmd.Stderr = full, &said
		cmd.Run()
		if cmd.ProcessState.ExitCode() != exitOther || strings.Count(said.String(), "no space left on device") != 1 {
			t.Errorf("%q: status %d and\n%s", args, cmd.ProcessState.ExitCode(), said.String())
		}
	}
}

// Nothing is added to the records by a redirection.
func TestOutputIntoTheRecords(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	before := snapshot(t, d.data)
	db, err := os.OpenFile(filepath.Join(d.data, "hornlark.db"), os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	cmd := d.command(t.Context(), "export")
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = db, &said
	if cmd.Run(); cmd.ProcessState.ExitCode() != exitUsage || !strings.Contains(said.String(), "goes into the records") {
		t.Errorf("status %d, %s", cmd.ProcessState.ExitCode(), said.String())
	}
	if got := changed(before, snapshot(t, d.data)); got != nil {
		t.Error(got)
	}
}
