// Where one can go from here: the left post.
import type { TemplateResult } from 'lit';
import type { Session } from '../api/types.js';
import { icons } from '../parts/icons.js';
import { t } from '../words/index.js';
import { may } from './store.js';

export interface Way { href: string; label: string; icon: TemplateResult; exact?: boolean; /** Not on phones: reached from the settings too. */ rare?: boolean }

export function ways(session: Session | undefined, athlete?: { id: string; name: string }, visit?: { id: string; date: string }) {
  const own = session?.role === 'athlete';
  const main: Way[] = own ? [{ href: '/me', label: t('way_today'), icon: icons.drills }]
    : [{ href: '/', label: t('caseload'), icon: icons.caseload, exact: true }];
  const ofAthlete: Way[] = athlete && !own ? [{ href: `/athletes/${athlete.id}`, label: t('way_athlete'), icon: icons.athlete, exact: true }] : [];
  const base = visit ? `/visits/${visit.id}` : '';
  const ofVisit: Way[] = visit && !own ? [
    { href: `${base}/film`, label: t('way_film'), icon: icons.film },
    { href: `${base}/tests`, label: t('way_tests'), icon: icons.tests },
    { href: `${base}/why`, label: t('way_why'), icon: icons.why },
    { href: `${base}/what-if`, label: t('way_what_if'), icon: icons.what_if },
    { href: `${base}/plan`, label: t('way_plan'), icon: icons.plan },
    { href: `${base}/report`, label: t('way_report'), icon: icons.report },
  ] : [];
  const foot: Way[] = [];
  if (!own && !visit && may('compute')) foot.push({ href: '/live', label: t('way_live'), icon: icons.live });
  if (!own && !visit) foot.push({ href: '/protocols', label: t('protocols'), icon: icons.tests, rare: true }, { href: '/drills', label: t('drills'), icon: icons.drills, rare: true });
  foot.push({ href: '/settings', label: t('settings'), icon: icons.settings });
  // On a phone a visit's six steps take the whole row; the beam leads back to the rest.
  if (ofVisit.length) for (const way of [...main, ...ofAthlete, ...foot]) way.rare = true;
  return { main, ofAthlete, ofVisit, foot };
}
