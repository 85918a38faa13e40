// Pictures of a camera to the server, one at a time: the newest picture goes when the answer to the one before is
// there. So the delay stays that of one picture, however slow the machine is.

export interface LiveRate { perSecond: number; delayMs: number }

export class LiveSender<Answer> {
  private running = false;
  private readonly canvas = document.createElement('canvas');
  private readonly ends: number[] = [];
  private readonly delays: number[] = [];

  constructor(
    private readonly video: HTMLVideoElement,
    private readonly send: (picture: Blob) => Promise<Answer>,
    private readonly answered: (answer: Answer, size: { width: number; height: number }, rate: LiveRate) => void,
    private readonly failed: (error: unknown) => void,
    private readonly longest = 640, // [px] of the longer side
  ) {}

  start(): void {
    if (this.running) return;
    this.running = true;
    void this.run();
  }

  stop(): void { this.running = false; }

  private async run(): Promise<void> {
    while (this.running) {
      const taken = performance.now();
      const picture = await this.take();
      if (!picture) {
        await new Promise((next) => requestAnimationFrame(next));
        continue;
      }
      try {
        const answer = await this.send(picture);
        if (!this.running) return;
        this.note(performance.now() - taken);
        this.answered(answer, { width: this.canvas.width, height: this.canvas.height }, this.rate());
      } catch (error) {
        if (!this.running) return;
        this.failed(error);
        await new Promise((next) => setTimeout(next, 800));
      }
    }
  }

  private take(): Promise<Blob | null> {
    const { videoWidth: width, videoHeight: height } = this.video;
    if (!width || !height) return Promise.resolve(null);
    const scale = Math.min(1, this.longest / Math.max(width, height));
    this.canvas.width = Math.round(width * scale);
    this.canvas.height = Math.round(height * scale);
    const context = this.canvas.getContext('2d', { alpha: false });
    if (!context) return Promise.resolve(null);
    context.drawImage(this.video, 0, 0, this.canvas.width, this.canvas.height);
    return new Promise((done) => this.canvas.toBlob(done, 'image/jpeg', 0.75));
  }

  private note(delay: number): void {
    this.ends.push(performance.now());
    this.delays.push(delay);
    if (this.ends.length > 20) { this.ends.shift(); this.delays.shift(); }
  }

  private rate(): LiveRate {
    const first = this.ends[0]!;
    const last = this.ends.at(-1)!;
    const perSecond = this.ends.length > 1 ? ((this.ends.length - 1) * 1000) / (last - first) : 0;
    const sorted = [...this.delays].sort((a, b) => a - b);
    return { perSecond, delayMs: sorted[Math.floor(sorted.length / 2)] ?? 0 };
  }
}
