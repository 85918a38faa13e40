// What the athlete has: minutes, sessions, weeks, equipment, a goal.
import { html, type TemplateResult } from 'lit';
import { button, choice, field } from '../parts/controls.js';
import { readNumber } from '../units.js';
import { t, wordFor } from '../words/index.js';

export interface PlanRequest {
  minutes: number;
  sessions: number;
  weeks?: number | undefined;
  goal_date?: string | undefined;
  goal_deg?: number | undefined;
  equipment: string[];
  [key: string]: unknown;
}
export const emptyRequest: PlanRequest = { minutes: 15, sessions: 5, weeks: 8, equipment: ['pipe', 'box'] };
const equipment = ['pipe', 'bar', 'discs', 'box', 'bench', 'chair', 'wedge', 'band', 'roller', 'ball', 'pull_up_bar', 'kettlebell', 'rack', 'scale'];

export interface PlanForm {
  request: PlanRequest;
  again: boolean;
  change: (request: PlanRequest) => void;
  make: () => void;
  close: (() => void) | undefined;
}

export function planForm(p: PlanForm): TemplateResult {
  const { request } = p;
  const set = (part: Partial<PlanRequest>) => p.change({ ...request, ...part });
  const numbers = (values: number[], now: number | undefined) => [...new Set([...values, ...(now ? [now] : [])])].sort((a, b) => a - b).map((n): [string, string] => [String(n), String(n)]);
  return html`<form class="stone stack gap-2 plan-form" @submit=${(event: Event) => { event.preventDefault(); p.make(); }}>
    <div class="grid">
      ${choice({ id: 'plan-minutes', label: t('plan_minutes'), value: String(request.minutes), options: numbers([10, 15, 20, 30], request.minutes), change: (value) => set({ minutes: Number(value) }) })}
      ${choice({ id: 'plan-sessions', label: t('plan_sessions'), value: String(request.sessions), options: numbers([2, 3, 4, 5, 6], request.sessions), change: (value) => set({ sessions: Number(value) }) })}
    </div>
    ${choice({ id: 'plan-weeks', label: t('plan_weeks'), value: request.goal_date ? '' : String(request.weeks ?? 8), options: numbers([4, 6, 8, 12], request.weeks),
      change: (value) => set({ weeks: Number(value), goal_date: undefined }) })}
    <fieldset class="choice"><legend>${t('plan_equipment')}</legend><div class="stones">${equipment.map((one) => html`<label><input type="checkbox" .checked=${request.equipment.includes(one)}
      @change=${(event: Event) => set({ equipment: (event.target as HTMLInputElement).checked ? [...request.equipment, one] : request.equipment.filter((other) => other !== one) })}><span>${wordFor('equipment', one)}</span></label>`)}</div></fieldset>
    <div class="grid">
      ${field({ id: 'plan-goal', label: t('plan_goal'), type: 'number', unit: '°', optional: true, value: request.goal_deg ?? '', hint: t('plan_goal_hint'),
        change: (value) => set({ goal_deg: value.trim() === '' ? undefined : readNumber(value) }) })}
      ${field({ id: 'plan-date', label: t('plan_date'), type: 'date', optional: true, value: request.goal_date ?? '', hint: t('plan_date_hint'), change: (value) => set({ goal_date: value || undefined }) })}
    </div>
    <div class="row">${button({ label: p.again ? t('plan_make_again') : t('plan_make'), kind: 'first', submit: true })}${p.close ? button({ label: t('visit_close'), act: p.close }) : ''}</div></form>`;
}
