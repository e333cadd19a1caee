//go:build linux

package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// A sitting is the same on every system, to the byte: what a desk of another kind has sat is scored here as it was there. Programs for
// other systems run in emulators, where those are installed: one on another processor every time, with one sitting; with
// HORNLARK_ELSEWHERE all of them, with many sittings and every figure of their aircraft.
func TestSittingsAreTheSameElsewhere(t *testing.T) {
	if testing.Short() {
		t.Skip("builds for other systems")
	}
	all := os.Getenv("HORNLARK_ELSEWHERE") != ""
	sittings := [][]string{{"drill", "hover-alerts", "--seed", "7", "--answers", "perfect", "--virtual", "--json"}}
	if all {
		for _, scenario := range []string{"first-start", "recall-start", "piston-start", "turnstone-alerts", "cold-morning"} {
			for _, seed := range []string{"1", "2", "3"} {
				sittings = append(sittings, []string{"drill", scenario, "--seed", seed, "--answers", "perfect", "--virtual", "--json"},
					[]string{"trace", scenario, "--seed", seed, "--answers", "perfect", "--csv", "-"})
			}
		}
	}
	for _, other := range []struct {
		name, system, processor string
		emulator                func(t *testing.T, dir string) func(program string) *exec.Cmd
		each                    bool // run by every run of the tests
	}{
		{"linux on arm64", "linux", "arm64", underQEMU, true},
		{"windows", "windows", "amd64", underWine, false},
	} {
		t.Run(other.name, func(t *testing.T) {
			if !other.each && !all {
				t.Skip("HORNLARK_ELSEWHERE=1 has it run")
			}
			dir := t.TempDir()
			emulated := other.emulator(t, dir)
			elsewhere := filepath.Join(dir, "hornlark.exe")
			build := exec.Command("go", "build", "-o", elsewhere, ".")
			build.Env = append(os.Environ(), "GOOS="+other.system, "GOARCH="+other.processor, "CGO_ENABLED=0")
			if said, err := build.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, said)
			}
			for _, args := range sittings {
				here, there := outputOf(t, exec.Command(program(t)), args), outputOf(t, emulated(elsewhere), args)
				if len(here) < 1000 || sha256.Sum256(here) != sha256.Sum256(there) {
					t.Errorf("%v: %d bytes here, %d there, and they differ", args, len(here), len(there))
				}
			}
		})
	}
}

// outputOf is what a program prints with arguments, with the ends of lines as they are here.
func outputOf(t *testing.T, cmd *exec.Cmd, args []string) []byte {
	t.Helper()
	cmd.Args = append(cmd.Args, args...)
	var told bytes.Buffer
	cmd.Stderr = &told
	out, err := cmd.Output()
	var status *exec.ExitError
	if err != nil && !(errors.As(err, &status) && status.ExitCode() == exitNotPassed) {
		t.Fatalf("%v: %v\n%s", cmd.Args, err, told.Bytes())
	}
	return bytes.ReplaceAll(out, []byte("\r\n"), []byte("\n"))
}

func underQEMU(t *testing.T, _ string) func(string) *exec.Cmd {
	emulator, err := exec.LookPath("qemu-aarch64")
	if err != nil {
		t.Skip("qemu-aarch64 is not installed (Debian: qemu-user)")
	}
	const library = "/usr/aarch64-linux-gnu"
	if _, err := os.Stat(library); err != nil {
		t.Skip("there is no C library for it (Debian: libc6-arm64-cross)")
	}
	return func(program string) *exec.Cmd { return exec.Command(emulator, "-L", library, program) }
}

// entropy stands in for a library of Windows that gives random numbers, which Go asks for and older emulators do not have.
const entropy = `#include <windows.h>
#include <ntsecapi.h>
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE to, SIZE_T size) { return SystemFunction036(to, size); }
`

func underWine(t *testing.T, dir string) func(string) *exec.Cmd {
	emulator, err := exec.LookPath("wine")
	if err != nil {
		t.Skip("wine is not installed (Debian: wine and wine64)")
	}
	compiler, err := exec.LookPath("x86_64-w64-mingw32-gcc")
	if err != nil {
		t.Skip("there is no compiler for what it lacks (Debian: gcc-mingw-w64-x86-64)")
	}
	prefix, source := filepath.Join(dir, "prefix"), filepath.Join(dir, "entropy.c")
	settings := append(os.Environ(), "WINEPREFIX="+prefix, "WINEDEBUG=-all", "WINEDLLOVERRIDES=bcryptprimitives=n")
	if err := os.WriteFile(source, []byte(entropy), 0o600); err != nil {
		t.Fatal(err)
	}
	begin := exec.Command(emulator, "wineboot", "--init")
	begin.Env = settings
	if said, err := begin.CombinedOutput(); err != nil {
		t.Fatalf("%v: %v\n%s", begin.Args, err, said)
	}
	library := filepath.Join(prefix, "drive_c", "windows", "system32", "bcryptprimitives.dll")
	if said, err := exec.Command(compiler, "-shared", "-o", library, source, "-ladvapi32").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	return func(program string) *exec.Cmd {
		cmd := exec.Command(emulator, program)
		cmd.Env = settings
		return cmd
	}
}
