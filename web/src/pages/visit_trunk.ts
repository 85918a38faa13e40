// The lean typed in where there is no clip: angle, how sure, how it was told. It stands in the visit's document.
import { LitElement, html, nothing, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { api } from '../api/client.js';
import { Fault } from '../api/fault.js';
import { putTogether } from '../api/together.js';
import { button, choice, field, focusFault, formValues } from '../parts/controls.js';
import { trunkText, type TypedTrunk } from '../parts/history_words.js';
import { errorView } from '../parts/views.js';
import { say } from '../shell/store.js';
import { readNumber } from '../units.js';
import { t, wordFor } from '../words/index.js';
import type { RecordOf, VisitDocument } from './visit_base.js';

const methods = ['eye', 'still', 'inclinometer', 'goniometer'] as const;
const usualError = 3; // [deg], what the program takes by itself for an angle read off a picture
const ranges = { trunk_angle: [-10, 90], trunk_error: [0.5, 20] } as const;

@customElement('typed-trunk')
export class TypedTrunkForm extends LitElement {
  @property({ attribute: false }) visit!: RecordOf<VisitDocument>;
  /** The visit as it is after a change. */
  @property({ attribute: false }) changed: (visit: RecordOf<VisitDocument>) => void = () => undefined;
  @state() private wrong: Record<string, string> = {};
  @state() private refused: Fault | undefined;
  @state() private method = '';
  private busy = false;

  protected override createRenderRoot(): HTMLElement { return this; }

  private number(name: keyof typeof ranges, text: string | undefined): number | undefined {
    const value = readNumber(text ?? '');
    const [low, high] = ranges[name];
    if (Number.isNaN(value)) this.wrong = { ...this.wrong, [name]: t('typed_no_number') };
    else if (value < low || value > high) this.wrong = { ...this.wrong, [name]: t('typed_between', { low, high }) };
    else return value;
    return undefined;
  }

  private async put(trunk: TypedTrunk | undefined): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    const document: VisitDocument = { ...this.visit.document };
    delete document.trunk;
    try {
      const { data } = await putTogether<RecordOf<VisitDocument>>(`/visits/${this.visit.id}`, this.visit, trunk ? { ...document, trunk } : document);
      this.changed(data);
      say(trunk ? t('typed_saved') : t('typed_removed'));
    } catch (error) {
      this.refused = Fault.of(error);
      // Somebody typed another lean: theirs is shown now.
      if (this.refused.stale) await api.get<RecordOf<VisitDocument>>(`/visits/${this.visit.id}`).then(({ data }) => this.changed(data), () => undefined);
    } finally {
      this.busy = false;
    }
  }

  private async send(event: Event): Promise<void> {
    event.preventDefault();
    const values = formValues(event.target as HTMLFormElement);
    this.wrong = {};
    this.refused = undefined;
    const angle = this.number('trunk_angle', values['trunk_angle']);
    const error = this.number('trunk_error', values['trunk_error']);
    const method = this.method || this.visit.document.trunk?.method;
    if (!method) this.wrong = { ...this.wrong, method: t('typed_need_method') };
    if (angle === undefined || error === undefined || !method) return focusFault(this);
    await this.put({ inclination_deg: angle, standard_error_deg: error, method });
  }

  protected override render(): TemplateResult {
    const trunk = this.visit.document.trunk;
    return html`<details class="numbers typed-trunk" ?open=${Boolean(trunk)}><summary>${trunk ? t('typed_has', { trunk: trunkText(trunk) }) : t('typed_title')}</summary>
      <form class="stack gap-3" novalidate @submit=${(event: Event) => void this.send(event)}><p class="quiet">${t('typed_words')}</p>
        <div class="grid narrow">${field({ id: 'trunk_angle', label: t('typed_angle'), type: 'number', unit: '°', value: trunk?.inclination_deg ?? '', fault: this.wrong['trunk_angle'] ?? '' })}
          ${field({ id: 'trunk_error', label: t('typed_error'), type: 'number', unit: '°', value: trunk?.standard_error_deg ?? usualError, hint: t('typed_error_hint'), fault: this.wrong['trunk_error'] ?? '' })}</div>
        ${choice({ id: 'trunk_method', label: t('typed_method'), value: this.method || trunk?.method || '', options: methods.map((one) => [one, wordFor('trunk_method', one)]), change: (value) => { this.method = value; } })}
        ${this.wrong['method'] ? html`<p class="fault-line" role="alert">${this.wrong['method']}</p>` : nothing}
        ${this.refused ? errorView(this.refused) : nothing}
        <div class="row">${button({ label: t('typed_save'), submit: true })}${trunk ? button({ label: t('typed_remove'), act: () => void this.put(undefined) }) : nothing}</div></form></details>`;
  }
}
