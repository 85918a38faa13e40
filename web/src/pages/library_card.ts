// What lists and cards of tests and drills share: how own and archived ones are marked, and what can be done with them.
import { html, nothing, type TemplateResult } from 'lit';
import { api } from '../api/client.js';
import { check } from '../parts/controls.js';
import { ask } from '../parts/dialog.js';
import { icons } from '../parts/icons.js';
import { may, say, type Action } from '../shell/store.js';
import { t } from '../words/index.js';
import { icon } from './visit_icons.js';
import type { OwnRecord } from './library_types.js';

export type Kind = 'protocols' | 'drills';
export interface Marked { built_in?: boolean; state?: string; own_error?: boolean }

/** Signs with words: own, own error, archived. */
export function marks(one: Marked): TemplateResult | typeof nothing {
  const own = one.built_in === false;
  const archived = one.state === 'archived';
  if (!own && !archived && !one.own_error) return nothing;
  return html`<span class="library-marks">${own ? html`<span class="tag own">${icons.athlete}${t('lib_own')}</span>` : nothing}
    ${one.own_error ? html`<span class="tag own">${icons.tests}${t('lib_own_error')}</span>` : nothing}${archived ? html`<span class="tag put-away">${icon('down')}${t('archived')}</span>` : nothing}</span>`;
}

export const archivedToggle = (on: boolean, change: (on: boolean) => void): TemplateResult => html`<div>${check({ id: 'with-archived', label: t('lib_with_archived'), checked: on, change })}</div>`;

/** Own ones stand first. */
export const ownFirst = <Row extends Marked>(rows: Row[]): Row[] => [...rows.filter((one) => one.built_in === false), ...rows.filter((one) => one.built_in !== false)];

/** What stands in the right post beside a list. */
export const listActions = (kind: Kind): Action[] => (may('write_records')
  ? [{ label: kind === 'protocols' ? t('lib_new_protocol') : t('lib_new_drill'), href: `/${kind}/new`, first: true, icon: icons.add }] : []);

/** What stands in the right post beside a card. */
export function cardActions(kind: Kind, id: string, name: string, card: { built_in?: boolean; record?: OwnRecord | null }, changed: (done: Promise<boolean>) => void): Action[] {
  if (!may('write_records')) return [];
  const copy: Action = { label: t('lib_make_own'), href: `/${kind}/new?from=${id}`, first: card.built_in !== false, icon: icons.add };
  if (card.built_in !== false) return [copy];
  const away = card.record?.state === 'archived';
  return [{ label: t('lib_edit'), href: `/${kind}/${id}/edit`, first: true }, copy,
    { label: away ? t('lib_bring_back') : t('archive'), act: () => changed(archive(kind, id, name, card.record!.version, !away)) }];
}

async function archive(kind: Kind, id: string, name: string, version: number, away: boolean): Promise<boolean> {
  if (away && !await ask({ title: t('archive_sure', { name }), words: t('lib_archive_words'), yes: t('archive') })) return false;
  await api.post(`/${kind}/${id}/archive`, { archived: away, version });
  say(away ? t('archived_now') : t('lib_back_now', { name }));
  return true;
}
