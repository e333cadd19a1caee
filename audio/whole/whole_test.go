//go:build unix

package whole

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

const childFolder = "HORNLARK_TEST_WRITES"

// A child writes files until it is killed.
func init() { child = write }

// write writes files for ever, if it is a child that is told where.
func write() {
	folder := os.Getenv(childFolder)
	for n := 0; folder != ""; n++ {
		if err := Write(filepath.Join(folder, fmt.Sprintf("file-%d", n%3)), content(n), 0o600); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		if n == 0 {
			fmt.Println("begun")
		}
	}
}

// content is so much that a kill comes in the middle of it.
func content(n int) []byte {
	line := fmt.Sprintf("%d of this file\n", n)
	return []byte(strings.Repeat(line, 1+(4<<20)/len(line)))
}

func names(t *testing.T, folder string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

// aged makes everything of a folder that is ours by its name look as old as it has to be.
func aged(t *testing.T, folder string, age time.Duration) (parts []string) {
	t.Helper()
	for _, name := range names(t, folder) {
		if strings.HasPrefix(name, ".hornlark") {
			at := unix.NsecToTimespec(time.Now().Add(-age).UnixNano())
			if err := unix.UtimesNanoAt(unix.AT_FDCWD, filepath.Join(folder, name), []unix.Timespec{at, at}, unix.AT_SYMLINK_NOFOLLOW); err != nil {
				t.Fatal(err)
			}
			parts = append(parts, name)
		}
	}
	return parts
}

// However it is killed, each file is whole; what was left is gone after the next write to the folder, once it is old enough.
func TestKilledWhileWriting(t *testing.T) {
	folder := t.TempDir()
	left := 0
	const kills = 40
	for range kills {
		child := exec.Command(os.Args[0])
		child.Env = append(os.Environ(), childFolder+"="+folder)
		out, err := child.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		bufio.NewReader(out).ReadString('\n')
		time.Sleep(rand.N(30 * time.Millisecond))
		child.Process.Kill()
		child.Wait()
		for _, name := range names(t, folder) {
			if !strings.HasPrefix(name, "file-") {
				continue
			}
			body, err := os.ReadFile(filepath.Join(folder, name))
			if err != nil {
				t.Fatal(err)
			}
			var n int
			fmt.Sscan(string(body), &n)
			if !slices.Equal(body, content(n)) {
				t.Fatalf("%s is not whole: %d bytes", name, len(body))
			}
		}
		left += len(aged(t, folder, leftFor/2))
		if err := Write(filepath.Join(folder, "after"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		young := aged(t, folder, leftFor+time.Second)
		if err := Write(filepath.Join(folder, "after"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if now := aged(t, folder, 0); len(now) > 0 {
			t.Fatalf("of %q there is still %q", young, now)
		}
	}
	t.Logf("%d killed, %d of them in the middle of a file", kills, left)
	if left == 0 {
		t.Error("none was killed in the middle of a file")
	}
}

// What is not ours, or is being written, stays, however old it is.
func TestOthersFilesStay(t *testing.T) {
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	target := filepath.Join(t.TempDir(), "target")
	for _, name := range []string{
		".hornlark-0123456789abcde.part", ".hornlark-0123456789abcdef0.part", ".hornlark-0123456789ABCDEF.part", ".hornlark-0123456789abcdef.part.bak",
		"hornlark-0123456789abcdef.part", ".hornlark-0123456789abcdef", ".hornlark-.part", ".hornlark-0123456789abcdeg.part",
	} {
		if err := os.WriteFile(at(name), []byte("a stranger's"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(target, []byte("a stranger's"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, at(".hornlark-0000000000000001.part")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(at(".hornlark-0000000000000002.part"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := unix.Mkfifo(at(".hornlark-0000000000000003.part"), 0o600); err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() == 0 {
		if err := os.WriteFile(at(".hornlark-0000000000000004.part"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chown(at(".hornlark-0000000000000004.part"), 12345, 12345); err != nil {
			t.Fatal(err)
		}
	}
	going, err := Begin(folder, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer going.Close()
	aged(t, folder, 48*time.Hour)
	before := names(t, folder)
	if err := Write(at("mine"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	after := slices.DeleteFunc(names(t, folder), func(name string) bool { return name == "mine" })
	if !slices.Equal(before, after) {
		t.Errorf("there was %q, and is %q", before, after)
	}
	if body, err := os.ReadFile(target); err != nil || string(body) != "a stranger's" {
		t.Errorf("what a link leads to is %q, %v", body, err)
	}
	going.Close()
	if err := Write(at("mine"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Lstat(going.Name()); err == nil {
		t.Error("what nobody writes any more is still there")
	}
}

// A link under the name of a file is replaced, and what it leads to left alone; nobody else can read the file.
func TestWriteFollowsNothing(t *testing.T) {
	folder := t.TempDir()
	target, name := filepath.Join(folder, "target"), filepath.Join(folder, "name")
	if err := os.WriteFile(target, []byte("before"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, name); err != nil {
		t.Fatal(err)
	}
	if err := Write(name, []byte("after"), 0o600); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(name); err != nil || !info.Mode().IsRegular() || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
	if body, _ := os.ReadFile(target); string(body) != "before" {
		t.Errorf("what the link led to is %q", body)
	}
	if err := Write(filepath.Join(folder, "none", "name"), nil, 0o600); err == nil {
		t.Error("it writes into a folder that is not there")
	}
	if err := Write(folder, nil, 0o600); err == nil {
		t.Error("it writes over a folder")
	}
	if got := names(t, folder); len(got) != 2 {
		t.Errorf("left is %q", got)
	}
}

// A full disk leaves nothing, and what was there stays.
func TestWriteToAFullDisk(t *testing.T) {
	folder := t.TempDir()
	if os.Geteuid() != 0 || exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "none", folder).Run() != nil {
		t.Skip("no small disk can be made here")
	}
	t.Cleanup(func() { exec.Command("umount", "-l", folder).Run() })
	name := filepath.Join(folder, "name")
	if err := Write(name, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Write(name, content(1), 0o600); err == nil {
		t.Error("it says nothing of a full disk")
	}
	if body, _ := os.ReadFile(name); string(body) != "before" {
		t.Errorf("what was there is %.20q", body)
	}
	if got := names(t, folder); len(got) != 1 {
		t.Errorf("left is %q", got)
	}
}
