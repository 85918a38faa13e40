// Promise.withResolvers for tablets that are some years old (it came to browsers in 2023 and 2024); pdf.js needs it.
export {};
interface Resolvers { promise: Promise<unknown>; resolve: (value: unknown) => void; reject: (reason: unknown) => void }
const maker = Promise as unknown as { withResolvers?: () => Resolvers };
maker.withResolvers ??= () => {
  const made = {} as Resolvers;
  made.promise = new Promise((resolve, reject) => { made.resolve = resolve; made.reject = reject; });
  return made;
};
