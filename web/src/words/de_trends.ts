export const trendsDe = {
  course_own: 'im Wettkampfaufbau', course_other: 'in einem anderen Aufbau als im Wettkampf: {setup}', course_like: 'Nur Aufnahmen desselben Aufbaus werden verglichen: Ein anderer Aufbau ist weder Fortschritt noch Rückschritt.',
  course_setup: 'In anderem Aufbau: {setup}', course_typed: 'Eingetippt, nicht gefilmt', course_typed_words: 'Von einem Menschen angegeben, mit dem Fehler, den er nennt; nicht mit Aufnahmen verglichen.', course_one_day: 'Bisher ein Tag, {day}',
  course_none: 'keine', key_typed: 'Eingetippt', course_bar_overhead: 'über Kopf', course_bar_back: 'auf dem Rücken', course_bar_front: 'vorn', course_bar_none: 'ohne',
};
