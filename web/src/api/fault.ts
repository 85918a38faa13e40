// What went wrong, in the words of the server (RFC 9457) or of this device.
import { sentence } from '../words/index.js';

export interface FaultPlace {
  file?: string;
  field?: string;
  line?: number;
  column?: number;
}
export interface FieldFault {
  field: string;
  detail: string;
  mend?: string;
}

const said = (what: string, mend?: string): string => (mend ? `${sentence(what)}: ${sentence(mend)}` : sentence(what));

export class Fault extends Error {
  /** HTTP status; 0 = the server was not reached. */
  readonly status: number;
  readonly title: string;
  readonly place: FaultPlace;
  /** What to do about it; may be empty. */
  readonly mend: string;
  readonly faults: FieldFault[];

  constructor(status: number, title: string, detail: string, more: Partial<Pick<Fault, 'place' | 'mend' | 'faults'>> = {}) {
    super(detail || title);
    this.name = 'Fault';
    this.status = status;
    this.title = title;
    this.place = more.place ?? {};
    this.mend = more.mend ?? '';
    this.faults = more.faults ?? [];
  }

  get offline(): boolean { return this.status === 0; }
  get signedOut(): boolean { return this.status === 401; }
  get denied(): boolean { return this.status === 403; }
  get missing(): boolean { return this.status === 404; }
  /** Somebody else was faster (If-Match). */
  get stale(): boolean { return this.status === 412 || this.status === 409; }

  /** The fault of one field, for `<lt-field .fault>`; also finds "athlete.body.stature_cm" by its end. */
  of(field: string): string {
    const hit = this.faults.find((one) => one.field === field || one.field.endsWith('.' + field));
    if (hit) return said(hit.detail, hit.mend);
    const place = this.place.field ?? '';
    if (place === field || place.endsWith('.' + field)) return said(this.message, this.mend);
    return '';
  }

  static async from(response: Response): Promise<Fault> {
    const text = await response.text().catch(() => '');
    try {
      const body = JSON.parse(text) as Record<string, unknown>;
      return new Fault(response.status, String(body['title'] ?? response.statusText), String(body['detail'] ?? ''), {
        place: (body['place'] ?? {}) as FaultPlace,
        mend: typeof body['mend'] === 'string' ? body['mend'] : '',
        faults: Array.isArray(body['faults']) ? (body['faults'] as FieldFault[]) : [],
      });
    } catch {
      return new Fault(response.status, response.statusText, '');
    }
  }

  static of(error: unknown): Fault {
    if (error instanceof Fault) return error;
    if (error instanceof TypeError) return new Fault(0, 'offline', '');
    return new Fault(-1, 'unexpected', error instanceof Error ? error.message : String(error));
  }
}
