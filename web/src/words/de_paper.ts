// German words of papers looked at inside the page.
import type { paperEn } from './en_paper.js';

export const paperDe: { readonly [K in keyof typeof paperEn]: string } = {
  paper_look: 'Hier ansehen', paper_preview: 'Vorschau: {name}', paper_close: 'Vorschau schließen', paper_coming: 'Das Papier wird geöffnet',
  paper_back: 'Vorige Seite', paper_forth: 'Nächste Seite', paper_where: 'Seite {page} von {pages}', paper_picture: '{name}, Seite {page} von {pages}; der Wortlaut folgt als Text',
  paper_smaller: 'Kleiner', paper_larger: 'Größer', paper_zoom: '{zoom} %', paper_print: 'Zum Drucken öffnen',
  page_older_tests: 'Dieses Blatt ist älter als die Tests dieses Termins', page_older_body: 'Dieses Blatt ist älter als die geänderten Körperdaten',
  page_older_words: 'Clips: {names}. Neu gemacht enthält das Blatt, was jetzt bekannt ist. Gefilmt wird nicht noch einmal, und das bisherige Blatt bleibt als Fassung.',
  page_again: 'Neu machen', page_again_reason: 'Neu gemacht mit dem, was jetzt bekannt ist', page_making: 'Das Blatt von {name} wird neu gemacht', page_made: 'Das Blatt ist neu gemacht.',
};
