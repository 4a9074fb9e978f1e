export function findBrowser(): string | undefined
export function prepareMachine(): Record<string, string>
