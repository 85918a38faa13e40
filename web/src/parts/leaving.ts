// Leaving a page with something unsaved asks first: by a link, the back button, or by closing the window.
import { guardLeaving } from '../shell/router.js';
import { t } from '../words/index.js';
import { ask } from './dialog.js';

/** Returns the function that ends it: give it to `until` of the page. */
export function askBeforeLeaving(unsaved: () => boolean): () => void {
  guardLeaving(async () => !unsaved() || ask({ title: t('lib_leave'), words: t('lib_leave_words'), yes: t('lib_leave_yes'), no: t('lib_leave_no'), harm: true }));
  const closing = (event: BeforeUnloadEvent) => { if (unsaved()) event.preventDefault(); };
  addEventListener('beforeunload', closing);
  return () => { guardLeaving(undefined); removeEventListener('beforeunload', closing); };
}
