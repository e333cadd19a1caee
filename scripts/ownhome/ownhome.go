// Package ownhome gives the tests of a package a home of their own: nothing that whoever runs them has settled about folders, sound,
// language, terminal or time reaches them, nor whatever they start, and nothing of theirs is left behind. Every package with tests calls
// Main in its TestMain; a test of this package holds them to it.
package ownhome

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/adrg/xdg"
)

// Main runs the tests of a package in a home of their own and ends the process with their status. A TestMain whose process may also be
// a child of a test lets the child do its work before, in what its parent has given it.
func Main(m *testing.M) {
	os.Exit(run(m.Run))
}

func run(tests func() int) int {
	root, err := os.MkdirTemp("", "hornlark-tests")
	if err != nil {
		fmt.Fprintln(os.Stderr, "no home for the tests:", err)
		return 1
	}
	defer os.RemoveAll(root)
	if err := enter(root); err != nil {
		fmt.Fprintln(os.Stderr, "no home for the tests:", err)
		return 1
	}
	return tests()
}

// Switches are the environment variables that ask the tests for more, or tell them what the machine has. Of those of the program
// itself no test is to see any.
var Switches = []string{
	"HORNLARK_CUES", "HORNLARK_DELAY", "HORNLARK_ELSEWHERE", "HORNLARK_EVERY", "HORNLARK_IMPORT", "HORNLARK_KILLS", "HORNLARK_NODE_MODULES", "HORNLARK_NOISES", "HORNLARK_PREVIEWS", "HORNLARK_PRINT", "HORNLARK_PROGRAM", "HORNLARK_REEL", "HORNLARK_SEEDS",
	"HORNLARK_SITTINGS", "HORNLARK_SOAK", "HORNLARK_SOAK_BUFFER", "HORNLARK_SOUND_SERVER", "HORNLARK_WATCHED", "HORNLARK_WHOLE",
}

// machine is what has to be known of the machine to start a program on it, and to build one.
var machine = []string{
	"PATH", "PATHEXT", "SYSTEMROOT", "SYSTEMDRIVE", "WINDIR", "COMSPEC", "PROGRAMFILES", "PROGRAMDATA", "NUMBER_OF_PROCESSORS", // all but PATH of Windows
	"CC", "CXX", "AR", "PKG_CONFIG", "PKG_CONFIG_PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SSL_CERT_FILE", "SSL_CERT_DIR",
	"HTTP_PROXY", "HTTPS_PROXY", "NO_PROXY",
}

// keeps tells whether the tests see a variable as it is.
func keeps(name string) bool {
	name = strings.ToUpper(name)
	return slices.Contains(machine, name) || slices.Contains(Switches, name) || strings.HasPrefix(name, "GO") || strings.HasPrefix(name, "CGO_")
}

// enter makes root the home of this process, and of those that it starts.
func enter(root string) error {
	own, err := goFolders()
	if err != nil {
		return err
	}
	home, temporary, silent := filepath.Join(root, "home"), filepath.Join(root, "tmp"), filepath.Join(root, "alsa.conf")
	for _, folder := range []string{home, temporary} {
		if err := os.Mkdir(folder, 0o700); err != nil {
			return err
		}
	}
	if err := os.WriteFile(silent, nil, 0o600); err != nil {
		return err
	}
	for name, value := range map[string]string{
		"HOME": home, "USERPROFILE": home, "APPDATA": filepath.Join(home, "roaming"), "LOCALAPPDATA": filepath.Join(home, "local"),
		"TMPDIR": temporary, "TMP": temporary, "TEMP": temporary,
		"LANG": "C.UTF-8", "LC_ALL": "C.UTF-8", "TZ": "UTC",
		// No device, no sound server and no bus but those that a test starts.
		"ALSA_CONFIG_PATH": silent, "PULSE_SERVER": "unix:" + filepath.Join(root, "no-server"),
		"DBUS_SESSION_BUS_ADDRESS": "unix:path=" + filepath.Join(root, "no-bus"), "DBUS_SYSTEM_BUS_ADDRESS": "unix:path=" + filepath.Join(root, "no-bus"),
	} {
		own[name] = value
	}
	for _, pair := range os.Environ() {
		if name, _, _ := strings.Cut(pair, "="); name != "" && !keeps(name) {
			os.Unsetenv(name)
		}
	}
	for name, value := range own {
		if err := os.Setenv(name, value); err != nil {
			return err
		}
	}
	// What a test starts is to be stopped by what stops a program, also where the tests are started so that they ignore it, as by nohup: what is
	// ignored stays so in a child, what is caught does not.
	for _, s := range []os.Signal{syscall.SIGHUP, os.Interrupt, syscall.SIGQUIT} {
		if signal.Ignored(s) {
			signal.Notify(make(chan os.Signal, 1), s)
		}
	}
	time.Local = time.UTC
	xdg.Reload() // it read the environment as the process began
	return nil
}

// goFolders gives where the go command keeps things, since it would look for them in the home, if there is one.
func goFolders() (map[string]string, error) {
	folders := map[string]string{}
	if _, err := exec.LookPath("go"); err != nil {
		return folders, nil
	}
	out, err := exec.Command("go", "env", "-json", "GOCACHE", "GOENV", "GOMODCACHE", "GOPATH").Output()
	if err != nil {
		return nil, fmt.Errorf("go env: %w", err)
	}
	return folders, json.Unmarshal(out, &folders)
}
