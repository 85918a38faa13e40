// Words of the courses over time: which clips are compared, and what was typed in.
export const trendsEn = {
  course_own: 'in the competition setup', course_other: 'in another setup than the competition’s: {setup}', course_like: 'Only clips of one setup are compared: a change of setup is neither progress nor regress.',
  course_setup: 'In another setup: {setup}', course_typed: 'Typed in, not filmed', course_typed_words: 'Told by a person, with the error that the person gives; not compared with clips.', course_one_day: 'One day so far, {day}',
  course_none: 'none', key_typed: 'Typed in', course_bar_overhead: 'overhead', course_bar_back: 'on the back', course_bar_front: 'on the front', course_bar_none: 'without',
} as const;
