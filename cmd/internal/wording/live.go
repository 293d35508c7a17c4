package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// liveSentences say what goes wrong while a sweep is played, and why sound cannot be played
// or recorded at all.
var liveSentences = map[string]sentence{
	"live-clipped": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("input %d is too loud: it reaches full scale", n.Int("channel")), "turn the gains of both inputs down alike, and sweep again"
	},
	"live-silent": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("input %d records nothing", n.Int("channel")), "check plug, cable and gain of that input"
	},
	"live-contact": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the contact was not steady: one input jumps %.1f s into the sweep, at %.0f Hz", n.Num("at"), n.Num("frequency")), "press clips and plugs firmly, and sweep again"
	},
	"live-jump": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("both inputs jump %.1f s into the sweep, at %.0f Hz: the sound was interrupted", n.Num("at"), n.Num("frequency")), "check the leads of the amplifier, close other programs, and sweep again"
	},
	"live-lost": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d samples are missing %.1f s into the sweep", n.Int("samples"), n.Num("at")), "the machine did not keep up: close other programs, and sweep again"
	},
	"live-hum": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is mains hum of %.0f Hz on input %d, %.1f %% of the signal", n.Num("mains"), n.Int("channel"), 100*n.Num("share")), "move leads away from transformers and mains leads"
	},
	"live-shaken": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("something pushed the cone %.1f s into the sweep: a door, a draught or a bump", n.Num("at")), "wait until it is quiet, and sweep again"
	},

	"sound-server":      fixed("there is no sound server on this machine", "start PulseAudio or PipeWire, or use the sound of the browser on the bench page: conewright bench"),
	"sound-server-gone": fixed("the sound server has ended", "start it again; finished sweeps are kept"),
	"sound-refused":     fixed("the sound server refuses", "choose another device"),
	"sound-no-device": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no %s", n.Text("what")), "plug in the sound card, and look again"
	},
	"sound-unknown-device": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no %s %q", n.Text("what"), n.Text("device")), "conewright measure --list names the devices; on the page press Look for devices again"
	},
	"sound-several-devices": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("more than one %s is called %q: %s", n.Text("what"), n.Text("device"), n.Text("found")), "name it in full: --device OUTPUT,INPUT"
	},
	"sweep-elsewhere": func(n notice.Notice) (string, string) {
		return n.Text("why") + "; the sweep is kept as " + n.Text("path"), "make room there, and move that file to its place"
	},
	"sweep-stopped": fixed("the sweep was stopped; nothing of it was written", "measure again when you are ready"),
	"sound-muted": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is muted", n.Text("device")), "switch it on in the sound settings of the machine"
	},
	"sound-mono": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s has one channel, and the bench needs two", n.Text("device")), "choose a line input with two channels; a microphone input has one"
	},
	"sound-gone": func(n notice.Notice) (string, string) {
		if n.Has("device") {
			return fmt.Sprintf("%s is gone", n.Text("device")), "plug it in again, and sweep again; finished sweeps are kept"
		}
		return "the sound card is gone", "plug it in again, and sweep again; finished sweeps are kept"
	},
	"sound-stalled": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s has recorded nothing for %.0f s", n.Text("device"), n.Num("seconds")), "plug it in again or choose another input; finished sweeps are kept"
	},
	"sound-underrun": fixed("the output ran out of samples: the machine did not keep up", "close other programs, and sweep again"),
	"sound-overrun":  fixed("the input lost samples: the machine did not keep up", "close other programs, and sweep again"),
	"sound-no-signal": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("no signal came back within %.0f s", n.Num("seconds")), "check that the amplifier is on and turned up, and that output and inputs are those of the bench"
	},
	"sound-busy": fixed("the sound is in use", "wait for the end of the sweep, or stop it on the page that began it"),
	"sound-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the browser records at %d Hz and plays at %d Hz, so it would convert what it records", n.Int("input"), n.Int("output")), "choose an output and an input of the same sound card"
	},
	"sound-processed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the browser changes what it records: %s cannot be switched off", n.Text("effect")), "choose another input or another browser"
	},
	"sound-forbidden": fixed("the browser does not let the page record", "allow the microphone for this page; line inputs count as microphones"),
	"sound-page": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sound of the browser failed: %s", n.Text("what")), "choose another input, or reload the page"
	},
}
