package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// What to do about a WAV file.
const (
	exportWAV     = "export the recording as a two-channel WAV file"
	exportPCM     = "export it again as two-channel PCM, 16 or 24 bit"
	damagedWAV    = "the file is damaged; record or export it again"
	damagedHeader = "the file is damaged or not a usual WAV file; " + exportPCM
)

// wavSentences say what is wrong with a WAV file, and why one cannot be written.
var wavSentences = map[string]sentence{
	"wav-not":        fixed("this is not a WAV file", exportWAV),
	"wav-big-endian": fixed("this is a big-endian WAV file (RIFX)", "convert it, for example with: sox in.wav -L out.wav"),
	"wav-other-riff": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("this is a RIFF file of the kind %q, not a WAV file", n.Text("kind")), exportWAV
	},
	"wav-chunks": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the WAV file holds more than %d chunks", n.Int("most")), damagedWAV
	},
	"wav-format-cut": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the format chunk claims %.0f bytes, the file has %.0f left", n.Num("claimed"), n.Num("left")), damagedWAV
	},
	"wav-no-format": fixed("the WAV file has no format chunk", damagedWAV),
	"wav-no-data": fixed("the WAV file has no data chunk: it holds a header and no samples",
		"the file is damaged or was cut; record or copy it again"),
	"wav-format-short": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the format chunk of the WAV file has %d bytes, %d are needed", n.Int("bytes"), n.Int("least")), damagedHeader
	},
	"wav-other-samples": func(n notice.Notice) (string, string) {
		return "the WAV file holds samples of the kind " + n.Text("kind"), exportPCM
	},
	"wav-compressed": func(n notice.Notice) (string, string) {
		kind, known := map[int]string{6: "A-law samples", 7: "mu-law samples"}[n.Int("tag")]
		if !known {
			kind = fmt.Sprintf("compressed samples (format %#x)", n.Int("tag"))
		}
		return "the WAV file holds " + kind, exportPCM
	},
	"wav-mono":        fixed("the recording has one channel, and the bench needs two", "record both bench channels together in one stereo file"),
	"wav-no-channels": fixed("the WAV header says that there are no channels", damagedHeader),
	"wav-many-channels": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the recording has %d channels, and the bench has two", n.Int("channels")),
			"export the two bench channels alone, for example with: sox in.wav out.wav remix 1 2"
	},
	"wav-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the WAV header gives the sample rate as %.0f Hz", n.Num("rate")), damagedHeader
	},
	"wav-frame-size": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the WAV header gives %d bytes a frame for %d channels", n.Int("bytes"), n.Int("channels")), damagedHeader
	},
	"wav-sample-size": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the WAV header gives %d-bit %s samples in %d bytes", n.Int("bits"), n.Text("kind"), n.Int("bytes")), damagedHeader
	},
	"wav-empty": fixed("the WAV file holds no samples", "record again, and stop the recorder before copying the file"),
	"wav-too-long": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the recording has %.0f samples a channel, more than this computer can count", n.Num("samples")),
			"cut the recording to the part that holds the test signal"
	},
	"wav-second-data": fixed("the WAV file holds a second block of samples; only the first was read", "export the recording again as one plain WAV file"),
	"wav-unfinished": fixed("the recorder did not finish the header of the WAV file; everything up to the end of the file was taken as samples",
		"stop the recording before the file is copied"),
	"wav-truncated": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the WAV file ends early: its header promises %.2f s, %.2f s are there", n.Num("promised"), n.Num("there")),
			"copy the file again if it may have been cut while copying; what is there was used"
	},

	"wav-write-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a WAV file cannot have the sample rate %d Hz", n.Int("rate")), "use the rate of the sound card, 48000 or 96000 Hz"
	},
	"wav-write-long": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d samples a channel do not fit into one WAV file", n.Int("samples")), fmt.Sprintf("write at most %.0f", n.Num("most"))
	},
	"wav-write-clipped": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("sample %d of channel %d is %v of full scale and would be clipped", n.Int("sample"), n.Int("channel"), n.Num("value")), "lower the level"
	},
}
