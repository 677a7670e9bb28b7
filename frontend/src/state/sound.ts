// The tones of a round, planned ahead on the clock of the sound device: a high one where a stroke begins, a low one where it ends,
// one between them where the next may begin.
const HIGH_HZ = 880;
const LOW_HZ = 440;
const MAY_HZ = 587;
const TONE_S = 0.12;
const LOUD = 0.25;

export class Sound {
  #context: AudioContext | null = null;
  #out: GainNode | null = null;

  /** Begin to sound: browsers allow it after a touch or a key only. */
  async arm(): Promise<boolean> {
    this.#context ??= new AudioContext();
    await this.#context.resume();
    this.#tone(LOW_HZ, 0);
    return this.#context.state === "running";
  }

  /** Plan the tones: of a stroke that has begun and ends in so many seconds, and of the next that may begin in so many. */
  plan(strokeEnds: number | null, nextMay: number | null): void {
    this.quiet();
    if (strokeEnds !== null) {
      this.#tone(HIGH_HZ, 0);
      this.#tone(LOW_HZ, strokeEnds);
    }
    if (nextMay !== null) this.#tone(MAY_HZ, nextMay);
  }

  /** Take back what is planned. */
  quiet(): void {
    this.#out?.disconnect();
    this.#out = null;
  }

  async close(): Promise<void> {
    this.quiet();
    await this.#context?.close();
    this.#context = null;
  }

  #tone(pitch_hz: number, inSeconds: number): void {
    const context = this.#context;
    if (context === null || inSeconds < 0) return;
    if (this.#out === null) {
      this.#out = context.createGain();
      this.#out.gain.value = LOUD;
      this.#out.connect(context.destination);
    }
    const tone = context.createOscillator();
    tone.frequency.value = pitch_hz;
    tone.connect(this.#out);
    tone.start(context.currentTime + inSeconds);
    tone.stop(context.currentTime + inSeconds + TONE_S);
  }
}
