// Two tones of a round, planned ahead on the clock of the sound device: a high one where a stroke begins, a low one where it ends.
import type { HeatStroke } from "../api/client";

const HIGH_HZ = 880;
const LOW_HZ = 440;
const COUNT_HZ = 587;
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

  /** Plan the tones of a round that is `now` seconds old. */
  plan(strokes: readonly HeatStroke[], now: number): void {
    this.quiet();
    for (const back of [3, 2, 1]) this.#tone(COUNT_HZ, -back - now);
    for (const { start_s, end_s } of strokes) {
      this.#tone(HIGH_HZ, start_s - now);
      this.#tone(LOW_HZ, end_s - now);
    }
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
