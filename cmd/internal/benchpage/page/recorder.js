// Runs on the audio thread: hands on what both channels record, in blocks, each with the
// number of its first frame. Frames that never came show as a gap in currentFrame.

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.size = 4096;
    this.reset();
    this.expected = -1;
    this.frame = 0;
  }

  reset() {
    this.block = [new Float32Array(this.size), new Float32Array(this.size)];
    this.filled = 0;
  }

  process([input]) {
    if (!input.length) return true; // the input is not connected yet
    if (this.expected >= 0 && currentFrame !== this.expected) this.port.postMessage({ lost: currentFrame - this.expected });
    const n = input[0].length;
    this.expected = currentFrame + n;
    this.block.forEach((b, c) => b.set(input[Math.min(c, input.length - 1)], this.filled));
    this.filled += n;
    if (this.filled === this.size) {
      this.port.postMessage({ frame: this.frame, channels: input.length, block: this.block }, this.block.map(b => b.buffer));
      this.frame += this.size;
      this.reset();
    }
    return true;
  }
}

registerProcessor("recorder", Recorder);
