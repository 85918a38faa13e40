// Papers looked at inside of the page.
export const paperEn = {
  paper_look: 'Look at it here', paper_preview: 'Preview: {name}', paper_close: 'Close the preview', paper_coming: 'The paper is being opened',
  paper_back: 'Page before', paper_forth: 'Next page', paper_where: 'Page {page} of {pages}', paper_picture: '{name}, page {page} of {pages}; its words follow as text',
  paper_smaller: 'Smaller', paper_larger: 'Larger', paper_zoom: '{zoom} %', paper_print: 'Open for printing',
  page_older_tests: 'This page was made before the tests of this visit', page_older_body: 'This page was made before the athlete’s body data were changed',
  page_older_words: 'Clips: {names}. Made again, the page holds what is known now. Nothing is filmed again, and the page before stays as a version.',
  page_again: 'Make it again', page_again_reason: 'Made again with what is known now', page_making: 'The page of {name} is made again', page_made: 'The page is made again.',
} as const;
