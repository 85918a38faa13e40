// Where the versions of a record are looked at (apart from the page, which is fetched only when it is opened).
export const historyOf = (record: string): string => `/records/${record}/versions`;
