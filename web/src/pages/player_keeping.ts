// What a person puts right on a clip, on its way into the record. Measuring takes seconds and writes versions of its own
// meanwhile, so nothing here may be lost because something else was saved, measured or read in between.
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { movedOf, pointsOf } from './player_data.js';
import type { Corrections, TrialRecord } from './visit_base.js';
import type { Point } from './visit_geometry.js';

export interface Road {
  get(): Promise<TrialRecord>;
  /** Writes on top of the record's version; throws a stale Fault if it is not the newest. */
  put(record: TrialRecord): Promise<TrialRecord>;
}

const tries = 4;

export async function readTrial(id: string, signal?: AbortSignal): Promise<TrialRecord> {
  return (await api.get<TrialRecord>(`/trials/${id}`, signal ? { signal } : {})).data;
}

export function roadTo(id: string): Road {
  return {
    get: () => readTrial(id),
    put: async (record) => {
      const { data, etag } = await api.put<TrialRecord>(`/trials/${id}`, record.document, { version: record.version });
      return { ...data, version: Number(etag.replace(/\D/g, '')) || data.version };
    },
  };
}

export class Keeping {
  /** Moved here and not known to be in the record. */
  private readonly moved = new Map<string, Point>();
  private turn: Promise<unknown> = Promise.resolve();

  constructor(private newest: TrialRecord, private readonly road: Road) {}

  get record(): TrialRecord { return this.newest; }
  get waiting(): boolean { return this.moved.size > 0; }
  waits(key: string): boolean { return this.moved.has(key); }
  /** Every moved point: those of the record, and over them those that are still on their way. */
  get points(): Map<string, Point> { return new Map([...movedOf(this.newest.document.corrections), ...this.moved]); }

  move(key: string, to: Point): void { this.moved.set(key, to); }

  /** A record that was read; an answer that was overtaken by a newer one is no news. */
  renew(record: TrialRecord): void {
    if (record.version >= this.newest.version) this.newest = record;
  }

  /** Keeps what was moved and what `change` makes of the other corrections. One save after the other. */
  save(change: (now: Corrections) => Corrections = (now) => now): Promise<TrialRecord> {
    return this.inTurn(() => this.send((now) => change({ ...now })));
  }

  /** Takes every correction back; what is moved after this call stays. */
  undo(): Promise<TrialRecord> {
    this.moved.clear();
    return this.inTurn(() => this.send(() => ({ points: [], events: [], person: null, vertical_deg: null, disc_mm: null })));
  }

  private inTurn(work: () => Promise<TrialRecord>): Promise<TrialRecord> {
    const done = this.turn.then(work);
    this.turn = done.catch(() => undefined);
    return done;
  }

  private async send(change: (now: Corrections) => Corrections): Promise<TrialRecord> {
    for (let left = tries; ; left--) {
      const sent = new Map(this.moved);
      const corrections = change(this.newest.document.corrections ?? {});
      if (sent.size > 0) corrections.points = pointsOf(new Map([...movedOf(corrections), ...sent]));
      try {
        this.newest = await this.road.put({ ...this.newest, document: { ...this.newest.document, corrections } });
        // Moved again while it was on its way: then the newer place still waits.
        for (const [key, at] of sent) if (this.moved.get(key) === at) this.moved.delete(key);
        return this.newest;
      } catch (error) {
        // The measuring, or somebody else, wrote a version meanwhile: ours goes on top of it.
        if (!Fault.of(error).stale || left <= 1) throw error;
        this.renew(await this.road.get());
      }
    }
  }
}
