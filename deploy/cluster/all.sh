# shellcheck shell=bash
# Everything the deploy commands are made of, in the order in which it builds on each other.

CLUSTER=$(dirname "${BASH_SOURCE[0]}")
# shellcheck source=deploy/cluster/console.sh
source "$CLUSTER/console.sh"
# shellcheck source=deploy/cluster/paths.sh
source "$CLUSTER/paths.sh"
# shellcheck source=deploy/cluster/dotenv.sh
source "$CLUSTER/dotenv.sh"
# shellcheck source=deploy/cluster/packages.sh
source "$CLUSTER/packages.sh"
# shellcheck source=deploy/cluster/process.sh
source "$CLUSTER/process.sh"
# shellcheck source=deploy/cluster/postgres.sh
source "$CLUSTER/postgres.sh"
# shellcheck source=deploy/cluster/redis.sh
source "$CLUSTER/redis.sh"
# shellcheck source=deploy/cluster/release.sh
source "$CLUSTER/release.sh"
# shellcheck source=deploy/cluster/services.sh
source "$CLUSTER/services.sh"
