/** Is a value further from the first one than the smallest detectable change? Without one, nothing is called real. */
export const isReal = (value: number, first: number, detectable?: number | null): boolean =>
  detectable !== undefined && detectable !== null && Math.abs(value - first) >= detectable;
