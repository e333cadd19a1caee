package main

import (
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"hornlark/audio"
	"hornlark/drill/record"
	"hornlark/scripts/ownhome"
)

// built is where the program that the tests run is, once one of them has asked for it.
var built struct {
	once   sync.Once
	folder string
	err    error
}

func TestMain(m *testing.M) {
	ownhome.Main(m)
}

// everyPair reports whether all is to be tried with all, and not each with a part.
func everyPair() bool { return os.Getenv("HORNLARK_EVERY") != "" }

// program builds the program, once, and gives its path. HORNLARK_PROGRAM is one that scripts/test has just built.
func program(t testing.TB) string {
	t.Helper()
	if path := os.Getenv("HORNLARK_PROGRAM"); path != "" {
		return path
	}
	name := "hornlark"
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	built.once.Do(func() {
		if built.folder, built.err = os.MkdirTemp("", "hornlark"); built.err != nil {
			return
		}
		out, err := exec.Command("go", "build", "-o", filepath.Join(built.folder, name), ".").CombinedOutput()
		if err != nil {
			built.err = fmt.Errorf("%w\n%s", err, out)
		}
	})
	if built.err != nil {
		t.Fatalf("build: %v", built.err)
	}
	return filepath.Join(built.folder, name)
}

// noSound makes a machine one without a sound device for a program.
func noSound(folder string) []string {
	return []string{"ALSA_CONFIG_PATH=" + filepath.Join(folder, "no-such.conf"), "PULSE_SERVER=unix:" + filepath.Join(folder, "no-such")}
}

// TestCommands runs the scripts about the command line with the program as it is built: in a folder of its own, without
// a terminal, without a sound device, and without anything of the user's.
func TestCommands(t *testing.T) {
	folder := filepath.Dir(program(t))
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			for _, dir := range []string{"brief", "short"} {
				if err := os.CopyFS(filepath.Join(env.WorkDir, dir), os.DirFS(filepath.Join("testdata", dir))); err != nil {
					return err
				}
			}
			profile, err := os.ReadFile(filepath.Join("..", "..", "drill", "library", "profiles", "dunlin-lt.yaml"))
			if err == nil {
				err = os.WriteFile(filepath.Join(env.WorkDir, "profile.yaml"), profile, 0o600)
			}
			if err != nil {
				return err
			}
			for _, pair := range append(noSound(env.WorkDir),
				"PATH="+folder+string(os.PathListSeparator)+env.Getenv("PATH"),
				"HORNLARK_DATA="+filepath.Join(env.WorkDir, "data"),
				"XDG_CACHE_HOME="+filepath.Join(env.WorkDir, "cache"),
				"HOME="+env.WorkDir, "TMPDIR="+env.Getenv("TMPDIR"), "TZ=UTC", "NO_COLOR=1",
			) {
				name, value, _ := strings.Cut(pair, "=")
				env.Setenv(name, value)
			}
			return nil
		},
		Condition: func(name string) (bool, error) {
			switch name {
			case "full":
				_, err := os.Stat("/dev/full")
				return err == nil, nil
			case "small-disk":
				return canMount(), nil
			}
			return false, fmt.Errorf("there is no condition %q", name)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"filler": filler, "records": records, "small-disk": smallDisk, "wav": wavIs,
		},
	})
}

// filler writes a file of so many bytes, all x, after what it begins with: filler FILE BYTES [BEGINNING]. Random bytes
// are written with "random" for the beginning.
func filler(ts *testscript.TestScript, neg bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	body := []byte(strings.Join(args[2:], " "))
	if string(body) == "random" {
		body = nil
		for i := range n {
			body = append(body, byte(i*i*i>>3^i*37))
		}
	} else {
		body = append(body, strings.Repeat("x", n)...)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), body, 0o600))
}

// records prints a line for every sitting that is kept: scenario, trainee, state, entries, and the last entry.
func records(ts *testscript.TestScript, neg bool, args []string) {
	store, err := record.Open(filepath.Join(ts.Getenv("HORNLARK_DATA"), "hornlark.db"))
	ts.Check(err)
	defer store.Close()
	sittings, err := store.Sittings(record.Filter{})
	ts.Check(err)
	for _, s := range sittings {
		log, err := store.Log(s.ID)
		ts.Check(err)
		last := "none"
		if len(log) > 0 {
			last = string(log[len(log)-1].Kind) + " " + log[len(log)-1].Text
		}
		fmt.Fprintf(ts.Stdout(), "%s trainee=%q policy=%s seed=%d layout=%s %s entries=%d last=%s\n",
			s.Scenario, s.Trainee, s.Policy, s.Seed, s.Layout, s.State, len(log), last)
	}
	for _, notice := range store.Notices() {
		fmt.Fprintln(ts.Stdout(), "notice:", notice)
	}
}

// canMount tells whether a file system can be mounted here.
var canMount = sync.OnceValue(func() bool {
	if runtime.GOOS != "linux" || os.Getuid() != 0 {
		return false
	}
	dir, err := os.MkdirTemp("", "disk")
	if err != nil {
		return false
	}
	defer os.Remove(dir)
	if exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", dir).Run() != nil {
		return false
	}
	return exec.Command("umount", dir).Run() == nil
})

// smallDisk makes a folder a file system of its own that takes so much: small-disk FOLDER SIZE.
func smallDisk(ts *testscript.TestScript, neg bool, args []string) {
	dir := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(dir, 0o700))
	ts.Check(exec.Command("mount", "-t", "tmpfs", "-o", "size="+args[1], "tmpfs", dir).Run())
	ts.Defer(func() { exec.Command("umount", "-l", dir).Run() })
}

// wavIs checks that a WAV file is whole and lasts from so long to so long: wav FILE 5s 9s.
func wavIs(ts *testscript.TestScript, neg bool, args []string) {
	file, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	defer file.Close()
	header := make([]byte, 44)
	_, err = io.ReadFull(file, header)
	ts.Check(err)
	info, err := file.Stat()
	ts.Check(err)
	// The canonical form: Multimedia Programming Interface and Data Specifications 1.0 (1991), "Waveform Audio File Format".
	channels, rate, bits := binary.LittleEndian.Uint16(header[22:]), binary.LittleEndian.Uint32(header[24:]), binary.LittleEndian.Uint16(header[34:])
	size := binary.LittleEndian.Uint32(header[40:])
	if string(header[:4]) != "RIFF" || string(header[8:16]) != "WAVEfmt " || channels != 1 || rate != audio.Rate || bits != 16 {
		ts.Fatalf("not a WAV file of one channel, %d Hz and 16 bits: % x", audio.Rate, header)
	}
	if int64(size) != info.Size()-44 || int64(binary.LittleEndian.Uint32(header[4:])) != info.Size()-8 {
		ts.Fatalf("its header says %d bytes of samples, and it has %d", size, info.Size()-44)
	}
	from, err := time.ParseDuration(args[1])
	ts.Check(err)
	to, err := time.ParseDuration(args[2])
	ts.Check(err)
	if length := time.Duration(size/2) * time.Second / audio.Rate; length < from || length > to {
		ts.Fatalf("%s lasts %v; want %v to %v", args[0], length, from, to)
	}
}
