// Buttons, fields, choices: functions that give plain elements in the page itself.
import { html, nothing, type TemplateResult } from 'lit';
import { ifDefined } from 'lit/directives/if-defined.js';
import { t } from '../words/index.js';

export interface ButtonLook {
  label: string;
  act?: (event: Event) => void;
  href?: string;
  /** first = the thing to do now; bare = words only; harm = cannot be undone. */
  kind?: 'first' | 'plain' | 'bare' | 'harm';
  icon?: TemplateResult;
  /** Only the icon is seen; the label is read out. */
  iconOnly?: boolean;
  disabled?: boolean;
  submit?: boolean;
  wide?: boolean;
  pressed?: boolean;
  download?: string;
}
export function button(b: ButtonLook): TemplateResult {
  const names = `button ${b.kind ?? 'plain'}${b.iconOnly ? ' square' : ''}${b.wide ? ' wide' : ''}`;
  const inside = html`${b.icon ?? nothing}${b.iconOnly ? html`<span class="for-ears">${b.label}</span>` : html`<span>${b.label}</span>`}`;
  if (b.href && !b.disabled) return html`<a class=${names} href=${b.href} download=${ifDefined(b.download)} @click=${b.act ?? nothing}>${inside}</a>`;
  return html`<button class=${names} type=${b.submit ? 'submit' : 'button'} ?disabled=${b.disabled ?? false}
    aria-pressed=${ifDefined(b.pressed === undefined ? undefined : b.pressed ? 'true' : 'false')} @click=${b.act ?? nothing}>${inside}</button>`;
}

export interface FieldLook {
  /** Unique on the page; also the name in the form. */
  id: string;
  label: string;
  value?: string | number;
  type?: 'text' | 'number' | 'date' | 'email' | 'password' | 'search' | 'textarea' | 'select';
  /** Of a select: [value, words]. */
  options?: [string, string][];
  unit?: string;
  hint?: string;
  /** What is wrong with it and what mends it: `fault.of('body.stature_cm')`. */
  fault?: string;
  optional?: boolean;
  required?: boolean;
  autocomplete?: string;
  placeholder?: string;
  min?: number | string;
  max?: number | string;
  length?: number;
  focus?: boolean;
  change?: (value: string) => void;
  /** On every key. */
  input?: (value: string) => void;
}

// What was typed stays until the page gives another value: a redrawing (a fault, say) must not take it away.
function control(f: FieldLook, about: string | undefined): TemplateResult {
  const value = String(f.value ?? '');
  const changed = (event: Event) => f.change?.((event.target as HTMLInputElement).value);
  const typed = (event: Event) => f.input?.((event.target as HTMLInputElement).value);
  const invalid = f.fault ? 'true' : undefined;
  if (f.type === 'select') {
    return html`<select id=${f.id} name=${f.id} aria-describedby=${ifDefined(about)} aria-invalid=${ifDefined(invalid)}
      @change=${changed}>${(f.options ?? []).map(([key, words]) => html`<option value=${key} .selected=${key === value}>${words}</option>`)}</select>
      <span class="chevron"></span>`;
  }
  if (f.type === 'textarea') {
    return html`<textarea id=${f.id} name=${f.id} .value=${value} maxlength=${ifDefined(f.length)} ?required=${f.required ?? false}
      aria-describedby=${ifDefined(about)} aria-invalid=${ifDefined(invalid)} @change=${changed} @input=${typed}></textarea>`;
  }
  // Numbers are text with a decimal keyboard: a comma is a decimal sign for half of the world.
  return html`<input id=${f.id} name=${f.id} type=${f.type === 'number' ? 'text' : (f.type ?? 'text')}
    inputmode=${ifDefined(f.type === 'number' ? 'decimal' : undefined)} .value=${value} autocomplete=${f.autocomplete ?? 'off'}
    placeholder=${ifDefined(f.placeholder)} min=${ifDefined(f.min)} max=${ifDefined(f.max)} maxlength=${ifDefined(f.length)}
    ?required=${f.required ?? false} ?autofocus=${f.focus ?? false} aria-describedby=${ifDefined(about)}
    aria-invalid=${ifDefined(invalid)} @change=${changed} @input=${typed}>`;
}

/** A labelled field of any kind; unit at its end; hint and fault are read out with it. */
export function field(f: FieldLook): TemplateResult {
  const about = [f.hint ? `${f.id}-hint` : '', f.fault ? `${f.id}-fault` : ''].filter(Boolean).join(' ') || undefined;
  return html`<div class="field ${f.fault ? 'wrong' : ''}">
    <label for=${f.id}>${f.label}${f.optional ? html` <span class="optional">${t('optional')}</span>` : nothing}</label>
    ${f.hint ? html`<p class="hint" id="${f.id}-hint">${f.hint}</p>` : nothing}
    <div class="well ${f.type === 'number' ? 'number' : ''}">${control(f, about)}${f.unit ? html`<span class="unit">${f.unit}</span>` : nothing}</div>
    ${f.fault ? html`<p class="fault" id="${f.id}-fault">${f.fault}</p>` : nothing}
  </div>`;
}

export interface ChoiceLook {
  id: string;
  label: string;
  options: [value: string, words: string][];
  value?: string;
  hint?: string;
  /** The label is read out but not seen. */
  quiet?: boolean;
  change?: (value: string) => void;
}
/** One of a few: radio buttons that look like cut stones. As with text, what was chosen stays until the page gives another value. */
export function choice(c: ChoiceLook): TemplateResult {
  return html`<fieldset class="choice"><legend class=${c.quiet ? 'for-ears' : ''}>${c.label}</legend>
    ${c.hint ? html`<p class="hint">${c.hint}</p>` : nothing}
    <div class="stones">${c.options.map(([value, words]) => html`<label><input type="radio" name=${c.id} value=${value}
      .checked=${value === c.value} @change=${() => c.change?.(value)}><span>${words}</span></label>`)}</div></fieldset>`;
}

export function check(c: { id: string; label: string | TemplateResult; checked?: boolean; change?: (on: boolean) => void }): TemplateResult {
  return html`<label class="check"><input type="checkbox" id=${c.id} name=${c.id} .checked=${c.checked ?? false}
    @change=${(event: Event) => c.change?.((event.target as HTMLInputElement).checked)}><span>${c.label}</span></label>`;
}

/** The values of a form by name: text as typed, checkboxes as booleans. */
export function formValues(form: HTMLFormElement): Record<string, string> {
  const values: Record<string, string> = {};
  new FormData(form).forEach((value, name) => { if (typeof value === 'string') values[name] = value.trim(); });
  return values;
}
/** Puts the focus on the first field with a fault, so that a keyboard or a screen reader gets there. */
export function focusFault(within: HTMLElement): void {
  requestAnimationFrame(() => within.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus());
}
