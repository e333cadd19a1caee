package audio

import (
	"context"
	"encoding/json"
	"os/exec"
	"time"
)

// namingLimit bounds how long a sound server is asked for the name of its output.
const namingLimit = time.Second

// deviceName is the name of the output that people know it by. ALSA's own name is that of its plugin where a sound server stands
// behind it: then the server's is taken.
func deviceName(server, alsa string) string {
	switch {
	case server != "":
		return server
	case alsa == "":
		return "default device (ALSA)"
	}
	return alsa + " (ALSA)"
}

// serverOutput gives the description of the sound server's default output, or nothing if there is no such server, or its own
// program for that is not installed.
func serverOutput() string {
	ctx, cancel := context.WithTimeout(context.Background(), namingLimit)
	defer cancel()
	var info struct {
		Server string `json:"server_name"`
		Sink   string `json:"default_sink_name"`
	}
	if ask(ctx, &info, "info") != nil || info.Sink == "" {
		return ""
	}
	var sinks []struct {
		Name        string `json:"name"`
		Description string `json:"description"`
	}
	if ask(ctx, &sinks, "list", "sinks") == nil {
		for _, s := range sinks {
			if s.Name == info.Sink && s.Description != "" {
				return s.Description + " (" + info.Server + ")"
			}
		}
	}
	return info.Sink + " (" + info.Server + ")"
}

func ask(ctx context.Context, answer any, what ...string) error {
	cmd := exec.CommandContext(ctx, "pactl", append([]string{"--format=json"}, what...)...)
	cmd.WaitDelay = 100 * time.Millisecond
	out, err := cmd.Output()
	if err != nil {
		return err
	}
	return json.Unmarshal(out, answer)
}
