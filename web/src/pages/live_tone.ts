// A tone while the trunk is beyond the chosen angle: higher the further it is.

export class Tone {
  private context: AudioContext | undefined;
  private oscillator: OscillatorNode | undefined;
  private gain: GainNode | undefined;

  /** From a press of a button: browsers let nothing sound before. */
  start(): void {
    if (this.context) return;
    this.context = new AudioContext();
    this.gain = this.context.createGain();
    this.gain.gain.value = 0;
    this.gain.connect(this.context.destination);
    this.oscillator = this.context.createOscillator();
    this.oscillator.type = 'triangle';
    this.oscillator.connect(this.gain);
    this.oscillator.start();
  }

  /** Degrees beyond the limit; nothing or less is silence. */
  beyond(angle: number | null): void {
    if (!this.context || !this.oscillator || !this.gain) return;
    const now = this.context.currentTime;
    const loud = angle !== null && angle > 0;
    this.gain.gain.setTargetAtTime(loud ? 0.25 : 0, now, 0.03);
    if (loud) this.oscillator.frequency.setTargetAtTime(440 + 18 * Math.min(angle, 30), now, 0.03);
  }

  stop(): void {
    this.oscillator?.stop();
    void this.context?.close();
    this.context = undefined;
    this.oscillator = undefined;
    this.gain = undefined;
  }
}
