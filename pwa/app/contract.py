"""What the phone's JavaScript and the shop's server must agree on: addresses, limits, the file of jobs.

The build hands every name here to JavaScript (pwa/phone/contract.js), so each stands once.
"""

# Sync (pwa/README.md, "Versions").
PROTOCOL = 1

# Addresses that the shop's server answers itself, each with all below it; every other one is the notebook's.
DESK = "/desk"
ENROL = "/enrol"
FORK = "/sync/fork"
HEALTH = "/health"
PHOTOS = "/photos"
SYNC = "/sync"
UPLOADS = "/uploads"
WORKER = "/worker.js"
SERVER = [DESK, ENROL, HEALTH, PHOTOS, SYNC, UPLOADS, WORKER]

# What belongs to no truck's job: records of the job that is the shop itself, and the kind that tells a name.
SHOP = "00000000-0000-7000-8000-000000000000"
PERSON = "person"
NO_NAME = "A phone without a name"  # of a phone on which nobody has typed one

# The field of every form of a phone's pages that shows it to be the phone's own (templates/frame/forms.html).
FORM_TOKEN = "layby-token"

# Limits.
NAME_LENGTH = 60  # of whoever writes on a phone
PHOTO_BYTES = 32 * 1024 * 1024
RECORD_BYTES = 256 * 1024  # of one record's text in UTF-8; a photo is not part of its record
# What a door still takes: older versions had no limit, and one record must not hold up all that follow it.
RECORD_MOST = 4 * 1024 * 1024
RECORD_DEPTH = 32  # lists and objects in each other
SENT_RECORDS = 200  # that a phone sends in one request
TAKEN_RECORDS = 1000  # that the server takes in one, also of a phone of another release
ANSWER_SIZE = 1024 * 1024  # characters of records that one answer of a sync carries, either way

# The first line of what is signed (server/signing.py, pwa/phone/keys.js); another form gets another number.
HEAD_TEXT = "layby head 1"
COUNTERSIGNED_TEXT = "layby countersigned 1"

# The file of jobs: a zip of records, verbatim, one a line, and photos (handbook: without-a-server).
FILE_FORMAT = "layby"
FILE_VERSION = 1
FILE_RECORDS = "records.jsonl"
FILE_ABOUT = "layby.json"
FILE_PHOTOS = "photos/"
FILE_ENDINGS = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}
FILE_OF_ALL = "layby-all.zip"
FILE_OF_JOB = "layby-job.zip"
ALL = "all"  # stands for a job's id
NAMED = 20  # refusals told one by one
# What is taken in. A phone has all of it in its memory, so it takes less than the desk.
PHONE_TAKES = {"bytes": 256 * 1024 * 1024, "files": 5000, "records": 32 * 1024 * 1024}
DESK_TAKES = {"bytes": 1024 * 1024 * 1024, "files": 10_000, "records": 64 * 1024 * 1024}
