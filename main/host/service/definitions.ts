import { posix, win32 } from 'node:path'

/** What a system needs to know of a station that it starts by itself. */
export interface ServiceWanted {
  readonly user: string
  readonly home: string
  /** Data folder. */
  readonly data: string
  readonly port: number
  /** The program and its leading arguments, without those of the station. */
  readonly program: readonly string[]
}

/** One system's way of starting a station with the computer: a text file, and the commands that make it known. */
export interface ServiceDefinition {
  readonly file: string
  readonly text: string
  readonly install: readonly (readonly string[])[]
  readonly remove: readonly (readonly string[])[]
  /** What a person has to know of it. */
  readonly words: string
}

const NAME = 'stillpoint'
const LAUNCHD_LABEL = 'org.stillpoint.station'
const TASK = 'Stillpoint station'

/** Where the page's key is written: readable by its owner alone, and never in a journal. */
const keyFileOf = ({ data }: ServiceWanted, path = posix) => path.join(data, 'page-key.txt')

const argumentsOf = (wanted: ServiceWanted, keyFile: string) => [
  ...wanted.program,
  'station',
  '--watchdog',
  '--data',
  wanted.data,
  '--port',
  String(wanted.port),
  '--key-file',
  keyFile,
]

const wordsOf = (keyFile: string) => `The address of the page is written to ${keyFile} at each start.`

/** systemd's quoting: C-style escapes in double quotes, `%` and `$` doubled (systemd.service(5), systemd.unit(5)). */
const systemdWord = (word: string) =>
  `"${word.replaceAll(/[\\"]/g, '\\$&').replaceAll('%', '%%').replaceAll('$', '$$$$')}"`

function systemd(wanted: ServiceWanted): ServiceDefinition {
  const file = `/etc/systemd/system/${NAME}.service`
  const keyFile = keyFileOf(wanted)
  return {
    file,
    text: `# Starts the station with the computer, without anybody logging in.
[Unit]
Description=Stillpoint station
After=network-online.target time-sync.target
Wants=network-online.target

[Service]
Type=exec
User=${wanted.user}
# Serial ports belong to this group on Debian and its kin.
SupplementaryGroups=dialout
ExecStart=${argumentsOf(wanted, keyFile).map(systemdWord).join(' ')}
# Hears SIGTERM, closes its records in order and leaves an open session open; a bath may need its time.
KillMode=mixed
TimeoutStopSec=120
Restart=on-failure
RestartSec=5
UMask=0077
NoNewPrivileges=true
ProtectSystem=strict
ReadWritePaths=${systemdWord(wanted.data)}
PrivateTmp=true

[Install]
WantedBy=multi-user.target
`,
    install: [
      ['systemctl', 'daemon-reload'],
      ['systemctl', 'enable', '--now', `${NAME}.service`],
    ],
    remove: [['systemctl', 'disable', '--now', `${NAME}.service`]],
    words: wordsOf(keyFile),
  }
}

const xml = (text: string) =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;')

/** launchd.plist(5): a daemon starts with the computer; an agent would wait for a login. */
function launchd(wanted: ServiceWanted): ServiceDefinition {
  const file = `/Library/LaunchDaemons/${LAUNCHD_LABEL}.plist`
  const keyFile = keyFileOf(wanted)
  const words = argumentsOf(wanted, keyFile).map((word) => `    <string>${xml(word)}</string>`)
  return {
    file,
    text: `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">
<plist version="1.0">
<dict>
  <key>Label</key>
  <string>${LAUNCHD_LABEL}</string>
  <key>UserName</key>
  <string>${xml(wanted.user)}</string>
  <key>ProgramArguments</key>
  <array>
${words.join('\n')}
  </array>
  <key>EnvironmentVariables</key>
  <dict>
    <key>HOME</key>
    <string>${xml(wanted.home)}</string>
  </dict>
  <key>RunAtLoad</key>
  <true/>
  <key>KeepAlive</key>
  <dict>
    <key>SuccessfulExit</key>
    <false/>
  </dict>
  <key>ExitTimeOut</key>
  <integer>120</integer>
  <key>Umask</key>
  <integer>63</integer>
</dict>
</plist>
`,
    install: [['launchctl', 'bootstrap', 'system', file]],
    remove: [['launchctl', 'bootout', `system/${LAUNCHD_LABEL}`]],
    words: wordsOf(keyFile),
  }
}

/** One argument for a Windows command line, by the rules of CommandLineToArgvW. */
const windowsWord = (word: string) =>
  /[\s"]/.test(word) || word === ''
    ? `"${word.replaceAll(/(\\*)"/g, '$1$1\\"').replace(/(\\+)$/, '$1$1')}"`
    : word

/**
 * A task that starts at boot. S4U lets it run without a stored password and without a login; it reaches no shares of the
 * network (Task Scheduler schema, LogonType).
 */
function scheduledTask(wanted: ServiceWanted): ServiceDefinition {
  const file = win32.join(wanted.data, 'stillpoint-task.xml')
  const keyFile = keyFileOf(wanted, win32)
  const [command, ...rest] = argumentsOf(wanted, keyFile)
  return {
    file,
    text: `<?xml version="1.0" encoding="UTF-16"?>
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo>
    <Description>Starts the Stillpoint station with the computer, without anybody logging in.</Description>
  </RegistrationInfo>
  <Triggers>
    <BootTrigger>
      <Enabled>true</Enabled>
      <Delay>PT20S</Delay>
    </BootTrigger>
  </Triggers>
  <Principals>
    <Principal id="Author">
      <UserId>${xml(wanted.user)}</UserId>
      <LogonType>S4U</LogonType>
      <RunLevel>LeastPrivilege</RunLevel>
    </Principal>
  </Principals>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <AllowHardTerminate>false</AllowHardTerminate>
    <ExecutionTimeLimit>PT0S</ExecutionTimeLimit>
    <RestartOnFailure>
      <Interval>PT1M</Interval>
      <Count>999</Count>
    </RestartOnFailure>
  </Settings>
  <Actions Context="Author">
    <Exec>
      <Command>${xml(command!)}</Command>
      <Arguments>${xml(rest.map(windowsWord).join(' '))}</Arguments>
      <WorkingDirectory>${xml(wanted.data)}</WorkingDirectory>
    </Exec>
  </Actions>
</Task>
`,
    install: [
      ['schtasks', '/Create', '/F', '/TN', TASK, '/XML', file],
      ['schtasks', '/Run', '/TN', TASK],
    ],
    remove: [['schtasks', '/Delete', '/F', '/TN', TASK]],
    words: `${wordsOf(keyFile)} End the station with "stillpoint stop"; the task scheduler's own End would kill it.`,
  }
}

/** The definition for a system; undefined for one that we have none for. */
export function serviceFor(platform: NodeJS.Platform, wanted: ServiceWanted): ServiceDefinition | undefined {
  switch (platform) {
    case 'linux':
      return systemd(wanted)
    case 'darwin':
      return launchd(wanted)
    case 'win32':
      return scheduledTask(wanted)
    default:
      return undefined
  }
}
