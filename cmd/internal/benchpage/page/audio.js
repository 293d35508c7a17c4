// The sound of the browser: plays what the program says and sends it what both inputs record.
// It is used where the machine has no sound server that the program can speak to.

let current = null; // the session that is open

// follow opens, plays or ends as the program says; level is in dB, for tones.
export async function follow(session, level) {
  if (current && current.id !== session?.id) {
    close(current);
    current = null;
  }
  if (!session) return;
  if (!current) {
    current = { id: session.id, next: Promise.resolve() };
    await open(current, session);
  }
  const s = current;
  if (s?.id !== session.id) return;
  s.level = level;
  if (s.gain && session.loop) s.gain.gain.setTargetAtTime(10 ** (level / 20), s.context.currentTime, 0.05);
  if (session.play && !s.playing) {
    s.playing = true;
    await play(s, session);
  }
}

const post = (s, what, body) => fetch(`/audio/${s.id}/${what}`, { method: "POST", body });

function fail(s, code, what = "") {
  if (current !== s || s.failed) return;
  s.failed = true;
  post(s, "fail", JSON.stringify({ code, what })).catch(() => {});
  close(s);
}

function close(s) {
  s.closed = true;
  s.stream?.getTracks().forEach(t => t.stop());
  s.context?.close().catch(() => {});
}

// open asks for both inputs as they are, and says what it got.
async function open(s, session) {
  const wish = { channelCount: 2, sampleRate: 48000, echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  if (session.input) wish.deviceId = { exact: session.input };
  try {
    s.stream = await navigator.mediaDevices.getUserMedia({ audio: wish });
    const [track] = s.stream.getAudioTracks(), is = track.getSettings();
    track.addEventListener("ended", () => fail(s, "gone"));
    s.context = new AudioContext({ sampleRate: is.sampleRate ?? 48000, latencyHint: "playback", ...(session.output ? { sinkId: session.output } : {}) });
    await s.context.audioWorklet.addModule("/page/recorder.js");
    await s.context.resume();
    const found = await navigator.mediaDevices.enumerateDevices();
    const list = kind => found.filter(d => d.kind === kind && d.deviceId && d.deviceId !== "communications")
      .map(d => ({ ID: d.deviceId, Name: d.label || "without a name", Usual: d.deviceId === "default" }));
    if (s.closed) return close(s);
    await post(s, "ready", JSON.stringify({
      Rate: is.sampleRate ?? s.context.sampleRate, ContextRate: s.context.sampleRate, Channels: is.channelCount ?? 1, Input: track.label,
      Effects: [["echoCancellation", "the echo cancellation"], ["noiseSuppression", "the noise suppression"], ["autoGainControl", "the automatic gain"]].filter(([k]) => is[k]).map(([, words]) => words),
      Outputs: list("audiooutput"), Inputs: list("audioinput"),
    }));
  } catch (e) {
    fail(s, e.name === "NotAllowedError" ? "forbidden" : "other", e.message);
  }
}

// play starts the recorder, and the sound as soon as it runs.
async function play(s, session) {
  try {
    const samples = new Float32Array(await (await fetch(`/audio/${s.id}/play`)).arrayBuffer());
    const buffer = s.context.createBuffer(1, samples.length, s.context.sampleRate);
    buffer.copyToChannel(samples, 0);
    const recorder = new AudioWorkletNode(s.context, "recorder", { numberOfOutputs: 1, channelCount: 2, channelCountMode: "explicit", channelInterpretation: "discrete" });
    recorder.port.onmessage = e => heard(s, e.data);
    s.context.createMediaStreamSource(s.stream).connect(recorder);
    recorder.connect(s.context.destination); // it is silent; without it nothing would pull
    const source = s.context.createBufferSource();
    s.gain = s.context.createGain();
    s.gain.gain.value = session.loop ? 0 : 1;
    if (session.loop) s.gain.gain.setTargetAtTime(10 ** (s.level / 20), s.context.currentTime, 0.2);
    source.buffer = buffer;
    source.loop = session.loop;
    source.connect(s.gain).connect(s.context.destination);
    source.start();
  } catch (e) {
    fail(s, "other", e.message);
  }
}

// heard sends a block, one after another.
function heard(s, { lost, frame, channels, block }) {
  if (s.closed) return;
  if (lost) return fail(s, "lost");
  if (channels < 2) return fail(s, "other", "the input has one channel");
  s.next = s.next.then(async () => {
    if (s.closed) return;
    const answer = await fetch(`/audio/${s.id}/block?frame=${frame}`, { method: "POST", body: new Blob(block) });
    if (!answer.ok) close(s);
  }).catch(() => close(s));
}
