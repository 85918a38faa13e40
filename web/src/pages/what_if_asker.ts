// Questions to the server while a slider moves: one on its way, the newest kept, the rest forgotten.

export class Asker<Question, Answer> {
  private waiting: Question | undefined;
  private running: AbortController | undefined;
  /** Milliseconds from question to answer, newest last, at most 500. */
  readonly times: number[] = [];

  constructor(
    private readonly ask: (question: Question, signal: AbortSignal) => Promise<Answer>,
    private readonly answered: (answer: Answer, question: Question) => void,
    private readonly failed: (error: unknown) => void,
  ) {}

  put(question: Question): void {
    this.waiting = question;
    if (!this.running) void this.run();
  }

  stop(): void {
    this.waiting = undefined;
    this.running?.abort();
  }

  /** The time that 95 of 100 answers keep. */
  percentile(share = 0.95): number {
    if (this.times.length === 0) return NaN;
    const sorted = [...this.times].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)]!;
  }

  private async run(): Promise<void> {
    while (this.waiting !== undefined) {
      const question = this.waiting;
      this.waiting = undefined;
      this.running = new AbortController();
      const begun = performance.now();
      try {
        const answer = await this.ask(question, this.running.signal);
        if (this.running.signal.aborted) break;
        this.times.push(performance.now() - begun);
        if (this.times.length > 500) this.times.shift();
        this.answered(answer, question);
      } catch (error) {
        if (!this.running.signal.aborted) this.failed(error);
      }
    }
    this.running = undefined;
  }
}
