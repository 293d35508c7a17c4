#!/bin/sh
# Makes the WAV files beside this script from source.wav. Run it in the folder
# that holds source.wav: it needs sox and ffmpeg.
set -eu

sox -D source.wav -b 8 -e unsigned-integer sox-u8.wav
sox -D source.wav -b 16 sox-16.wav
sox -D source.wav -b 24 sox-24-extensible.wav
sox -D source.wav -b 32 -e signed-integer sox-32-extensible.wav
sox -D source.wav -b 24 -t wavpcm sox-24-plain.wav
sox -D source.wav -b 32 -e floating-point sox-f32.wav
sox -D source.wav -b 64 -e floating-point sox-f64.wav
sox source.wav -t raw - | sox -D -t raw -r 8000 -e signed -b 24 -c 2 - -b 16 -t wav - | cat >sox-16-pipe.wav
sox -D source.wav -b 16 -B -t wav sox-rifx.wav
sox -D source.wav -e a-law sox-alaw.wav
sox -D source.wav -b 16 sox-mono.wav remix 1
sox -D source.wav -b 16 sox-three.wav remix 1 2 1

run() { ffmpeg -nostdin -loglevel error -y -i source.wav -fflags +bitexact -flags:a +bitexact "$@"; }
run -c:a pcm_s16le ffmpeg-16.wav
run -c:a pcm_s24le ffmpeg-24-extensible.wav
run -c:a pcm_s32le ffmpeg-32-extensible.wav
run -c:a pcm_f32le ffmpeg-f32.wav
run -c:a pcm_f64le ffmpeg-f64.wav
run -c:a pcm_s24le -rf64 always ffmpeg-24-rf64.wav
run -c:a pcm_s24le -f wav - | cat >ffmpeg-24-pipe.wav
run -c:a pcm_s16le -write_bext 1 -metadata description=bench ffmpeg-16-bext.wav
run -c:a pcm_s16le -f w64 ffmpeg-16.w64
