import { spawnSync } from 'node:child_process'

/**
 * Whether a SIGTERM comes from the computer being shut down and not from somebody who ends the station alone. systemd
 * tells (`systemctl is-system-running` says `stopping`); INVOCATION_ID is set by it for services (systemd.exec(5)).
 */
export function systemStops(environment: NodeJS.ProcessEnv = process.env): boolean {
  if (environment.INVOCATION_ID === undefined) return false
  const { stdout } = spawnSync('systemctl', ['is-system-running'], { encoding: 'utf8', timeout: 2000 })
  return stdout?.trim() === 'stopping'
}
