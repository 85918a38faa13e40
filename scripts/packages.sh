# What Lintel needs from Debian 12, by purpose. Sourced by scripts/setup.
build_packages=(
  build-essential cmake ninja-build pkg-config ccache git ca-certificates python3
  libexpected-dev libeigen3-dev libceres-dev
  libopencv-dnn-dev libopencv-imgproc-dev
  libavformat-dev libavcodec-dev libavutil-dev libswscale-dev
  libcairo2-dev libpango1.0-dev fonts-dejavu-core
  nlohmann-json3-dev libcli11-dev libssl-dev libboost-dev libqrcodegencpp-dev
  libsoci-dev libsqlite3-dev libpq-dev libsodium-dev libzip-dev libtomlplusplus-dev
)
test_packages=(
  libgtest-dev libgmock-dev libbenchmark-dev
  libopencv-imgcodecs-dev libopencv-calib3d-dev libvalijson-dev
  coinor-libipopt-dev libsimbody-dev libglpk-dev libzxing-dev
  ffmpeg poppler-utils qpdf libxml2-utils opencv-doc
  postgresql-15 postgresql-client-15 sqlite3 zip unzip tar curl jq openssl libcurl4-openssl-dev chromium
  clang-format-14 clang-tidy-14 clang-14 libclang-rt-14-dev
)
