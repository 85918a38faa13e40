// Frames of a clip and times of the picture: which frame is on the screen, and how to get to one.
import { clipOf, fileOf, type TrialRecord } from './visit_base.js';

/** Index of the frame on the screen at `time`: the last one that has begun (times ascend). */
export function frameAt(times: readonly number[], time: number): number {
  // A picture's time is rounded on its way; half a millisecond is far below one frame.
  const wanted = time + 0.0005;
  let low = 0;
  let high = times.length - 1;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (times[middle]! <= wanted) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** A time well inside of the frame, so that rounding never shows the one before. */
export function timeInside(times: readonly number[], index: number): number {
  const here = times[index] ?? 0;
  const next = times[index + 1] ?? here + (index > 0 ? here - times[index - 1]! : 1 / 30);
  return here + 0.4 * (next - here);
}

/** Where in a list of frame numbers this frame is, or the nearest. */
export function indexOfFrame(frames: readonly number[], frame: number): number {
  const at = frameAt(frames, frame);
  return at + 1 < frames.length && frames[at + 1]! - frame < frame - frames[at]! ? at + 1 : at;
}

/** The films of a trial, best for the screen first: the server's copy that is quick to jump in, what was sent, what was drawn over. */
export function filmsOf(trial: TrialRecord): string[] {
  const copy = trial.document.results?.some((file) => file.name === 'screen.mp4');
  return [...(copy ? [fileOf(trial.id, 'screen.mp4')] : []), clipOf(trial.id), fileOf(trial.id, 'overlay.mp4')];
}

/** Seeks without a queue: while one is on its way only the last wish is kept. `arrived`: the picture of the last wish is there. */
export class Seeker {
  private wish: number | undefined;
  private busy = false;

  constructor(private readonly video: HTMLVideoElement, private readonly arrived: () => void = () => undefined) {
    video.addEventListener('seeked', this.next);
    video.addEventListener('error', this.next);
  }

  to(time: number): void {
    this.wish = time;
    if (!this.busy) this.start();
  }

  stop(): void {
    this.video.removeEventListener('seeked', this.next);
    this.video.removeEventListener('error', this.next);
  }

  private start(): void {
    const time = this.wish;
    this.wish = undefined;
    if (time === undefined || this.video.readyState < 1) return;
    if (Math.abs(this.video.currentTime - time) < 1e-4) return this.arrived();
    this.busy = true;
    this.video.currentTime = time;
  }

  private readonly next = (): void => {
    this.busy = false;
    if (this.wish !== undefined) this.start();
    else this.arrived();
  };
}

/** Tells the media time of every picture that comes on the screen. Returns a function that stops it. */
export function followPictures(video: HTMLVideoElement, tell: (time: number) => void): () => void {
  if (!('requestVideoFrameCallback' in video)) return followByClock(video, tell);
  let handle = 0;
  const next: VideoFrameRequestCallback = (_, data) => {
    tell(data.mediaTime);
    handle = video.requestVideoFrameCallback(next);
  };
  handle = video.requestVideoFrameCallback(next);
  return () => video.cancelVideoFrameCallback(handle);
}

function followByClock(video: HTMLVideoElement, tell: (time: number) => void): () => void {
  let handle = 0;
  let last = -1;
  const next = (): void => {
    if (video.currentTime !== last && !video.seeking) {
      last = video.currentTime;
      tell(last);
    }
    handle = requestAnimationFrame(next);
  };
  handle = requestAnimationFrame(next);
  return () => cancelAnimationFrame(handle);
}
