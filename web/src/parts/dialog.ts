// Questions in front of the page: a native <dialog>, so that Escape, focus and screen readers work by themselves.
import { html, nothing, render, type TemplateResult } from 'lit';
import { t } from '../words/index.js';
import { button } from './controls.js';

/** Shows a template in a dialog until `close(result)`; Escape gives undefined. */
export function openDialog<T>(title: string, view: (close: (result?: T) => void) => TemplateResult): Promise<T | undefined> {
  return new Promise((done) => {
    const dialog = document.createElement('dialog');
    dialog.className = 'asked';
    dialog.setAttribute('aria-labelledby', 'asked-title');
    document.querySelector('lintel-app')!.append(dialog);
    let result: T | undefined;
    const close = (given?: T) => { result = given; dialog.close(); };
    dialog.addEventListener('close', () => { dialog.remove(); done(result); });
    render(html`<div class="inside"><h2 id="asked-title">${title}</h2>${view(close)}</div>`, dialog);
    dialog.showModal();
  });
}

/** A question with yes and no. */
export async function ask(q: { title: string; words?: string; yes: string; no?: string; harm?: boolean }): Promise<boolean> {
  return (await openDialog<boolean>(q.title, (close) => html`${q.words ? html`<p>${q.words}</p>` : nothing}
    <div class="row end">${button({ label: q.no ?? t('no_back'), act: () => close(false) })}
    ${button({ label: q.yes, kind: q.harm ? 'harm' : 'first', act: () => close(true) })}</div>`)) ?? false;
}

/** A question with one line to write (a reason). Undefined = not answered. */
export function askLine(q: { title: string; words?: string; label: string; yes: string; harm?: boolean; required?: boolean }): Promise<string | undefined> {
  return openDialog<string>(q.title, (close) => html`<form class="bare-form" @submit=${(event: Event) => {
    event.preventDefault();
    close((event.target as HTMLFormElement).querySelector<HTMLInputElement>('input')!.value.trim());
  }}>${q.words ? html`<p>${q.words}</p>` : nothing}
    <div class="field"><label for="asked-line">${q.label}</label><div class="well"><input id="asked-line" ?required=${q.required ?? true} autocomplete="off"></div></div>
    <div class="row end">${button({ label: t('no_back'), act: () => close() })}${button({ label: q.yes, kind: q.harm ? 'harm' : 'first', submit: true })}</div></form>`);
}
