//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// carrying is the first argument of a process of the tests that carries out one command line after the other, each as the program does from
// its arguments to its status. Two tests try thousands of them, and a process for each would spend most of its time on reading what is built in.
const carrying = "carry-out-lines"

// A line to be carried out, and what came of it. Arguments and outputs may be no UTF-8, and so are bytes.
type (
	toCarry struct {
		Data string
		Args [][]byte
	}
	carried struct {
		Out, Err []byte
		Status   int
	}
)

// carryLines is such a process: lines come in, and what comes of each goes out, where nothing else of the process writes.
func carryLines() error {
	in, out := json.NewDecoder(os.Stdin), json.NewEncoder(os.NewFile(3, "answers"))
	for in.More() {
		var line toCarry
		if err := in.Decode(&line); err != nil {
			return err
		}
		if err := os.Setenv("HORNLARK_DATA", line.Data); err != nil {
			return err
		}
		var args []string
		for _, arg := range line.Args {
			args = append(args, string(arg))
		}
		var said, told bytes.Buffer
		status := run(context.Background(), args, streams{in: strings.NewReader(""), out: &said, err: &told})
		if err := out.Encode(carried{said.Bytes(), told.Bytes(), status}); err != nil {
			return err
		}
	}
	return nil
}

// init has a process that was begun for it do nothing else: no test, and no home of its own, but that of the test that began it.
func init() {
	if len(os.Args) != 2 || os.Args[1] != carrying {
		return
	}
	if err := carryLines(); err != nil {
		os.Stderr.WriteString(err.Error() + "\n")
		os.Exit(exitOther)
	}
	os.Exit(exitPassed)
}

// carrier is a process that carries out lines in the folder of a workplace.
type carrier struct {
	ask    *json.Encoder
	answer *json.Decoder
	told   bytes.Buffer
	lines  int
}

// wholeEach is which of the lines a whole program carries out: the process itself, its streams and its status belong to what is tried.
const wholeEach = 12

// newCarrier begins such a process, which ends with the test.
func newCarrier(d *workplace) *carrier {
	d.t.Helper()
	own, err := os.Executable()
	if err != nil {
		d.t.Fatal(err)
	}
	read, write, err := os.Pipe()
	if err != nil {
		d.t.Fatal(err)
	}
	c := new(carrier)
	cmd := d.command(d.t.Context())
	cmd.Path, cmd.Args, cmd.ExtraFiles, cmd.Stderr = own, []string{own, carrying}, []*os.File{write}, &c.told
	to, err := cmd.StdinPipe()
	if err == nil {
		err = cmd.Start()
	}
	write.Close()
	if err != nil {
		d.t.Fatal(err)
	}
	d.t.Cleanup(func() {
		to.Close()
		cmd.Wait()
		read.Close()
	})
	c.ask, c.answer = json.NewEncoder(to), json.NewDecoder(read)
	return c
}

// carry carries out a line, and gives what it said on both outputs, and its status: by a process that goes on, and now and then by the whole program.
func (d *workplace) carry(args ...string) (out, told []byte, status int) {
	d.t.Helper()
	if d.carrier == nil {
		d.carrier = newCarrier(d)
	}
	if d.carrier.lines++; d.carrier.lines%wholeEach == 0 {
		return d.whole(args...)
	}
	line := toCarry{Data: d.data}
	for _, arg := range args {
		line.Args = append(line.Args, []byte(arg))
	}
	var came carried
	answered := make(chan error, 1)
	go func() {
		err := d.carrier.ask.Encode(line)
		if err == nil {
			err = d.carrier.answer.Decode(&came)
		}
		answered <- err
	}()
	select {
	case err := <-answered:
		if err != nil {
			d.t.Fatalf("%q: %v\n%s", args, err, d.carrier.told.Bytes())
		}
	case <-time.After(time.Minute):
		d.t.Fatalf("%q goes on for more than a minute", args)
	}
	return came.Out, came.Err, came.Status
}

// whole has the whole program carry out a line.
func (d *workplace) whole(args ...string) (out, told []byte, status int) {
	d.t.Helper()
	ctx, cancel := context.WithTimeout(d.t.Context(), time.Minute)
	defer cancel()
	cmd := d.command(ctx, args...)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Run(); err != nil && !errors.As(err, new(*exec.ExitError)) {
		d.t.Fatal(err)
	}
	return stdout.Bytes(), stderr.Bytes(), cmd.ProcessState.ExitCode()
}

// The two ways of carrying out a line come to the same, byte for byte.
func TestLinesAreCarriedOutAlike(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	for _, args := range [][]string{
		{"list"}, {"check", "brief"}, {"check", "missing"}, {"show", "first-start"}, {"debrief"}, {"debrief", "7"}, {"progress", "--csv", "-"}, {"drill", "--seed", "x"}, {"nonsense"},
		{"export", "--out", "data/new"}, {"drill", "brief/scenario.yaml", "--with", "brief", "--answers", "perfect", "--virtual"}, {"drill", "\xff\x1b[2J"}, {"help", "drill"}, {"--version"},
	} {
		d.carry("list", "fields", "scenario") // whatever was carried out before
		d.carrier.lines = 0
		out, told, status := d.carry(args...)
		wholeOut, wholeTold, wholeStatus := d.whole(args...)
		if !bytes.Equal(out, wholeOut) || !bytes.Equal(told, wholeTold) || status != wholeStatus {
			t.Errorf("%q: status %d and %d\n%.500s\n%.500s\n%.500s\n%.500s", args, status, wholeStatus, out, wholeOut, told, wholeTold)
		}
	}
}
