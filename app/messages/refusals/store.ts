/** Refusals of what is kept: files, register, backup, import, the laboratory's database, by code. */
export const STORE_REFUSALS = {
  'disk-full':
    'The disk of {path} is full: nothing of this batch was written. Make room; recording goes on by itself.',
  'not-our-file': '{path} is not a file of Stillpoint.',
  'file-damaged':
    '{path} is damaged: {message}. Take the copy in the backup folder; what can still be read can be exported.',
  'file-locked': '{path} is being written by another program.',
  'file-read-only':
    '{path} cannot be written: it, its folder or its disk is read-only. Check the rights of the folder.',
  'file-input-output':
    '{path} could not be read or written ({code}). Check the disk and the rights of the folder.',
  'no-write-ahead-log': '{path} lies where SQLite cannot keep a write-ahead log.',
  'setting-of-file-differs': '{path}: {name} is {found} and not {value}.',
  'no-such-file': 'There is no file {path}.',
  'not-our-kind-of-file': '{path} is not a {kind} file of Stillpoint.',
  'file-exists': '{path} exists already.',
  'source-row-missing': '{db}: source {source} is missing.',
  'source-unit-unknown': '{db}: source {id} has the unit "{unit}".',
  'mark-unknown': '"{mark}" is not a mark this file knows.',
  'reading-without-source': 'Reading {seq} names source {id}, which is missing.',
  'form-newer':
    '{db} was written by a newer Stillpoint (form {version} of the {kind} file; this one knows up to {newest}). Open it with that version or a later one.',
  'form-unsaid': '{db} does not say which form of the {kind} file it has.',
  'row-unreadable': '{what} is not readable any more.',
  'row-of-wrong-form': '{what} does not have its form: {error}',
  'event-of-wrong-form': 'Event {n}: {error}',
  'channel-id-not-text': 'The channel id {channel} is not text.',
  'disk-silent':
    'The disk of the session has not answered for {seconds} s: readings wait in memory and are not shown. Check the disk.',
  'log-end-not-chain-end': '{db}: the log does not end where its chain ends.',
  'session-damaged':
    '{db} is damaged ({at}) and is not written any more. It still opens for reading, and what can be read can be exported.',
  'session-unnamed': '{db} does not say which session it is.',
  'session-table-foreign':
    '{db}: what is called {name} in it is not the table of a session. It was made by another program and is not read.',
  'session-form-older': '{path} has an older form; bringUpToDate gives it the newest one.',
  'session-not-written-any-more': '{path} is not written any more. {words}',
  'open-for-reading': '{path} is open for reading.',
  'no-certificate-number':
    "No certificate number that is kept for this bench is left, and another bench may have given the next ones. Sign when the laboratory''s database is there again; this station then gets numbers by itself.",
  'search-too-long': 'A search takes up to {words} words and {characters} characters. Search for fewer.',
  'ledger-entry-unreadable': '{db}: an entry of the ledger is not readable.',
  'folder-on-share':
    '{folder} lies on {share}. Records must lie on a disk of this computer; choose one with --data, and name the share as the backup folder.',
  'folder-in-use':
    'The data folder {folder} is in use by another station{holder}. Close that one, or choose another folder with --data.',
  'not-replaced-open':
    '{to} could not be replaced: another program has it open, or its rights forbid it ({code}). Close what shows or scans it and try again; what was there is unchanged.',
  'not-replaced-rights':
    '{to} could not be replaced: the rights of its folder forbid it ({code}). Give yourself the right to write there; what was there is unchanged.',
  'session-id-impossible': '"{id}" cannot be a session: letters, digits, dot, dash and underscore only.',
  'station-file-missing':
    '{path} is missing or empty, although there are sessions beside it ({sessions}). {folder}',
  'station-file-unreadable': '{path} cannot be read ({said}) {folder}',
  'version-not-taken-over':
    'Version {rev} of {kind} "{id}" is not what was written, or a version before it is missing. It was not taken over.',
  'version-unreadable':
    'Version {rev} of {kind} "{id}" in {db} is not readable any more. Take the register from a backup.',
  'nothing-to-decide': 'There is nothing to decide about {kind} "{id}" any more.',
  'record-of-wrong-form': 'The {kind} "{id}" in {db} does not have its form: {path} {said}.',
  'no-such-record': 'There is no {kind} "{id}".',
  'person-named-already': 'There is a person named {person} already.',
  'name-stays': 'A name stays, because records name it. Close this person and enter another.',
  'last-administrator':
    'Somebody must be able to see to the station and its people. Give another person that right first.',
  'no-such-person': 'There is no person "{id}".',
  'renew-open-elsewhere': '{path} is open elsewhere. Close it there, so that it can be given its new form.',
  'renewed-ledger-differs':
    '{path} was not given its new form: the ledger came out otherwise. The file is as it was; take it to a sound disk and start again.',
  'chunk-without-source': 'Reading {seq} names source {sourceId}, which is missing',
  'chunks-untold': 'nothing says which readings of channel {number} lie in chunks',
  'reading-in-no-chunk': 'reading {seq} lies in no chunk, and the file says that it does',
  'chunks-of-another-number': 'channel {number} has {chunks} chunks and the file speaks of {told}',
  'rows-of-no-reading': '{table} has rows that belong to no reading',
  'sealed-of-no-channel': 'sealed has rows that belong to no channel',
  'station-form-older': '{path} has an older form. Start the station once; it brings it up to date.',
  'address-with-secret':
    'An address with a password or a key in it is not kept. Give it to the station as STILLPOINT_MQTT_PASSWORD for a broker, PGPASSWORD or .pgpass for a database, STILLPOINT_SMTP_PASSWORD for mail and STILLPOINT_WEBHOOK_TOKEN for a webhook.',
  'not-renewed-not-whole': '{path} was not given its new form, because it is not whole. {words}',
  'backup-file-foreign': '{path} is not what a backup writes: {words}.',
  'copy-not-whole': 'The copy of {source} is not whole, so it was not kept. {words}',
  'backup-folder-missing': 'The backup folder {folder} is not there. Is its disk connected?',
  'manifest-unreadable': '{path} is not readable; the copies beside it may be.',
  'manifest-newer':
    '{path} was written by a newer Stillpoint (form {form}; this one knows 1). Use that version or a later one.',
  'backup-of-another-station':
    '{folder} holds the backup of another station, or of a later state of this one. Choose an empty folder, so that nothing of it is lost.',
  'no-backup-there': '{from} holds no backup: neither {file} nor sessions.',
  'restore-trouble': '{trouble} Nothing was restored; leave it out to restore the rest.',
  'restore-found': '{name}: {found}',
  'restore-other-session':
    'It is another session than the one that was copied there: its chain ends in {head}, and {kept} was noted.',
  'backup-ledger-broken': 'The ledger of the backup is not whole. {firstBreak}',
  'restore-into-backup': '{target} lies in the backup itself. Restore into another folder.',
  'restore-folder-not-empty':
    '{target} is not empty. A backup is restored into a new folder only, so that nothing there is lost.',
  'no-such-channel': 'This session has no channel "{channel}".',
  'export-exists': '{out} exists already; say --replace to write it anew.',
  'no-readings-in-file': '{path} holds no readings.',
  'import-trouble': '{path}: {said}',
  'no-such-column': 'There is no column "{column}". The columns are: {header}.',
  'columns-not-said':
    'Say which column holds the time (--time) and which hold channels (--map). The columns are: {header}.',
  'line-not-a-time': 'Line {line}, column "{column}": "{text}" is not a time of the form {form}{zone}.',
  'line-not-as-exported': 'Line {line} is not a row as it was exported.',
  'register-not-json': 'This file is not JSON. Export a register to see the form it must have.',
  'register-of-wrong-form': 'The file does not hold a register: at {path}, {said}. Nothing was taken in.',
  'register-entry-wrong': '{entry}: {wrong} Nothing was taken in.',
  'no-such-thermometer': 'There is no thermometer "{thermometer}" in the register.',
  'resistance-unknown':
    "Nothing is known of {entry}''s resistance. Enter its nominal value or a calibration.",
  'station-closing': 'The station is closing.',
  'reading-thread-ended': 'The reading thread ended ({code}).',
  'no-longer-wanted': 'No longer wanted.',
  'beyond-memory':
    'This is more than the memory set aside for one report or picture. Ask for less of it at a time.',
  'identity-connected-already':
    "A station with this one''s identity is connected to the laboratory already: a copy of this data folder runs somewhere, or the connection of before has not ended yet. Stop the copy, or give it an identity of its own: stillpoint laboratory new-identity --data FOLDER.",
  'identity-used-elsewhere':
    'Another data folder has worked under this identity since: this folder is a copy of that station, or was taken back from a backup. Nothing is exchanged until somebody says which. A copy gets an identity of its own: stillpoint laboratory new-identity --data FOLDER. The one that is left goes on: stillpoint laboratory take-identity --data FOLDER.',
  'session-still-elsewhere':
    'Session {id} is still being measured at {key}, or its bench has not given it yet. It can be opened here when it has ended.',
  'session-came-broken':
    "Session {id} did not come whole from the laboratory''s database, so it was not taken over. {words}",
  'session-changed-while-coming': 'It was added to here while it came.',
  'session-not-here-yet': 'Session {id} was measured at another bench and is not here yet. {state}',
  'session-not-brought': 'Session {id} could not be brought here. {state}',
  'not-a-table':
    'This is no table: a line of headings and a row of at least two cells are needed, with comma, semicolon, tab or bar between the cells.',
  'chunk-says-otherwise':
    'chunk {id} (readings {firstSeq} to {lastSeq} of one channel, kept for overviews) does not say what the log says',
  'no-session-file':
    'There is no file {nameOrPath}. A session is named by its file, or by its id together with --data FOLDER.',
  'no-session-in-folder':
    'There is no session {nameOrPath} in {dataFolder}. "stillpoint sessions --data {dataFolder}" lists what is there.',
  'database-newer':
    "The laboratory''s database has form {form}, this station knows form {known}: bring this station up to the version of the others. Until then it works on by itself, and nothing is lost.",
  'database-older':
    "The laboratory''s database has form {form}, this station needs form {known}: ask who sees to the database for an upgrade of all stations.",
} as const
