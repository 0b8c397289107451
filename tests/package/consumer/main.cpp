#include <cstdio>

#include <shotassay/shotassay.hpp>

int main() {
  using namespace shotassay;
  const DisplayStep step{Decimal{1, 0}};
  const WelchResult r = welch(Sample{{1, 2, 3}, step}, Sample{{2, 4, 6}, step});
  std::printf("difference %.4f, 95 %% interval %.4f to %.4f\n", r.difference, r.interval.lower, r.interval.upper);
  std::printf("degrees of freedom %.4f, p %.4f\n", r.degrees_of_freedom, r.p_two_sided);
}
